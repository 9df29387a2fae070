/* SPDX-License-Identifier: ISC */
/* Finding an interrupted bag and reading what it holds. Nothing here writes. */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "bag/tag_file.h"
#include "base/fault.h"
#include "base/path.h"

enum { COVER_CEILING = 1 << 20, BAGS_MAX = 1 << 20 };

/* ---- Which one ---- */

static bool names_card(const struct hr_folder *folder, const char *identity)
{
    struct hr_tags tags = {0};
    char *text = NULL;
    size_t size = 0;
    bool is_it = false;
    if (hr__file_load(&text, &size, folder, HR_BAG_INFO_PART, COVER_CEILING, "", NULL) != HR_OK &&
        hr__file_load(&text, &size, folder, HR_BAG_INFO, COVER_CEILING, "", NULL) != HR_OK)
        return false;
    if (hr__tags_parse(&tags, text, size) == HR_OK) {
        const char *named = hr__tags_find(&tags, "External-Identifier", NULL);
        is_it = named && !strcmp(named, identity);
    }
    hr__tags_finish(&tags);
    free(text);
    return is_it;
}

static bool is_candidate(const struct hr_folder *job, const char *name, const char *identity)
{
    struct hr_folder folder;
    if (hr__folder_open_below(&folder, job, name, NULL) != HR_OK)
        return false;
    bool is_it = hr__bag_is_unfinished(&folder) && names_card(&folder, identity);
    hr__folder_close(&folder);
    return is_it;
}

/* By time, then by the number that told bags of one second apart. */
static int compare_age(const char *a, const char *b)
{
    unsigned number_a = 0, number_b = 0;
    hr__bag_name_card(a, &number_a);
    hr__bag_name_card(b, &number_b);
    int order = strncmp(a, b, strlen("YYYYMMDD-HHMMSS"));
    return order ? order : (number_a > number_b) - (number_a < number_b);
}

/* *name is owned by the caller; NULL when there is none. */
static enum hr_status find_newest(char **name, const struct hr_bag *bag, const struct hr_bag_label *label,
                                  struct hr_fault *fault)
{
    struct hr_folder job;
    struct hr_entry *entries = NULL;
    size_t count = 0;
    const char *newest = NULL;
    unsigned number;
    enum hr_status status = hr__folder_open_below(&job, &bag->place, label->job, fault);
    if (!status)
        status = hr__folder_list(&entries, &count, &job, "", BAGS_MAX, fault);
    for (size_t i = 0; i < count && !status; i++)
        if (entries[i].kind == HR_ENTRY_FOLDER && hr__bag_name_card(entries[i].name, &number) &&
            (!newest || compare_age(entries[i].name, newest) > 0) &&
            is_candidate(&job, entries[i].name, label->card_identity))
            newest = entries[i].name;
    *name = newest ? strdup(newest) : NULL;
    if (newest && !*name)
        status = hr__fault_nomem(fault, "an interrupted bag");
    if (!status && !*name)
        status = hr__fault_path(fault, HR_NOT_FOUND, 0, "no interrupted bag of this card in", job.path);
    hr__entries_free(entries, count);
    hr__folder_close(&job);
    return status;
}

/* ---- What it holds ---- */

/* Rows whose file is not there in that size speak of nothing. */
static void drop_rows_without_file(struct hr_journal *journal, const struct hr_folder *data)
{
    size_t kept = 0;
    struct hr_file_facts facts;
    for (size_t i = 0; i < journal->count; i++)
        if (hr__folder_facts(&facts, data, journal->rows[i].path, NULL) == HR_OK && facts.is_regular &&
            facts.size_bytes == journal->rows[i].size_bytes)
            journal->rows[kept++] = journal->rows[i];
    journal->is_damaged |= kept != journal->count;
    journal->count = kept;
}

enum hr_status hr__bag_read_rows(struct hr_bag *bag, struct hr_fault *fault)
{
    struct hr_folder data;
    struct hr_fault cause = {0};
    const char *name = hr__bag_holds(&bag->folder, HR_BAG_FILES_PART) ? HR_BAG_FILES_PART : HR_BAG_FILES;
    enum hr_status status = hr__folder_open_below(&data, &bag->folder, HR_BAG_DATA, &cause);
    hr__journal_finish(&bag->resumed);
    bag->resumed.is_damaged = true;
    if (status == HR_NOT_FOUND || (!status && !hr__bag_holds(&bag->folder, name)))
        status = HR_OK;
    else if (!status)
        status = hr__journal_load(&bag->resumed, &bag->folder, name, &cause);
    if (status)
        hr__fault_set(fault, status, 0, "%s", cause.text);
    else
        drop_rows_without_file(&bag->resumed, &data);
    hr__folder_close(&data);
    return status;
}

/* Another run may have finished it between the look and the lock. */
static enum hr_status take_lock(struct hr_bag *bag, struct hr_fault *fault)
{
    enum hr_status status = hr__folder_open_below(&bag->folder, &bag->place, bag->below_place, fault);
    if (!status) {
        status = hr__folder_lock(&bag->folder, fault);
        if (status)
            hr__folder_close(&bag->folder);
    }
    if (!status && !hr__bag_is_unfinished(&bag->folder))
        status = hr__fault_path(fault, HR_NOT_FOUND, 0, "just finished by another run:", bag->path);
    return status;
}

enum hr_status hr_bag_look(struct hr_bag **out, const char *place, const struct hr_bag_label *label,
                           struct hr_fault *fault)
{
    struct hr_bag *bag = NULL;
    char *name = NULL;
    enum hr_status status = hr__bag_new(&bag, place, label, fault);
    if (status)
        return status;
    status = find_newest(&name, bag, label, fault);
    if (!status)
        status = hr__bag_settle(bag, label->job, name, fault);
    if (!status)
        status = take_lock(bag, fault);
    if (!status)
        status = hr__bag_read_rows(bag, fault);
    free(name);
    if (status) {
        hr_bag_close(bag);
        return status;
    }
    bag->rows_at_look = bag->resumed.count;
    *out = bag;
    return HR_OK;
}
