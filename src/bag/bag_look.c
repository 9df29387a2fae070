/* SPDX-License-Identifier: ISC */
/* Finding an interrupted bag and reading what it holds. Nothing here writes. */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "bag/bag_walk.h"
#include "bag/tag_file.h"
#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"

enum { COVER_CEILING = 1 << 20, BAGS_MAX = 1 << 20 };

/* ---- Which one ---- */

static enum hr_status load_cover(char **text, size_t *size, const struct hr_folder *folder, struct hr_fault *fault)
{
    bool has_part;
    enum hr_status status = hr__bag_holds(&has_part, folder, HR_BAG_INFO_PART, fault);
    const char *name = has_part ? HR_BAG_INFO_PART : HR_BAG_INFO;
    return status ? status : hr__file_load(text, size, folder, name, COVER_CEILING, name, fault);
}

enum hr_status hr__bag_names_card(bool *out, const struct hr_folder *folder, const char *identity,
                                  struct hr_fault *fault)
{
    struct hr_tags tags = {0};
    char *text = NULL;
    size_t size = 0;
    enum hr_status status = load_cover(&text, &size, folder, fault);
    if (!status && hr__tags_parse(&tags, text, size) != HR_OK)
        status = hr__fault_nomem(fault, "an interrupted bag");
    const char *named = status ? NULL : hr__tags_find(&tags, "External-Identifier", NULL);
    *out = named && (!identity || !strcmp(named, identity));
    hr__tags_finish(&tags);
    free(text);
    return status;
}

/* What another keeps closed is not ours to go on with. */
static enum hr_status is_candidate(bool *out, const struct hr_folder *job, const struct hr_entry *entry,
                                   const char *identity, struct hr_fault *fault)
{
    struct hr_folder folder;
    struct hr_fault cause = {0};
    *out = false;
    enum hr_status status = entry->status ? hr__fault_path(&cause, entry->status, 0, "cannot ask about", entry->name)
                                          : hr__folder_open_below(&folder, job, entry->name, &cause);
    if (status == HR_DENIED || status == HR_NOT_FOUND)
        return HR_OK;
    if (status)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    status = hr__bag_is_unfinished(out, &folder, fault);
    if (*out)
        status = hr__bag_names_card(out, &folder, identity, fault);
    hr__folder_close(&folder);
    return status;
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
    for (size_t i = 0; i < count && !status; i++) {
        bool is_it = false;
        if ((entries[i].kind == HR_ENTRY_FOLDER || entries[i].status) && hr__bag_name_card(entries[i].name, &number) &&
            (!newest || compare_age(entries[i].name, newest) > 0))
            status = is_candidate(&is_it, &job, &entries[i], label->card_identity, fault);
        if (is_it)
            newest = entries[i].name;
    }
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

static enum hr_status add_loose(struct hr_bag *bag, const char *path, uint64_t size_bytes, struct hr_fault *fault)
{
    char *copy = strdup(path);
    if (!copy || !hr__array_reserve(&bag->loose, &bag->loose_capacity, bag->loose_count + 1, sizeof *bag->loose,
                                    HR_BAG_FILES_MAX)) {
        free(copy);
        return hr__fault_nomem(fault, "the files of a bag");
    }
    bag->loose[bag->loose_count++] = copy;
    bag->loose_bytes += size_bytes;
    return HR_OK;
}

/* Rows whose file is not there in that size speak of nothing; files of which no row speaks are loose. Both sides are
 * sorted by path. */
static enum hr_status match_rows(struct hr_bag *bag, const struct hr_walk *walk, struct hr_fault *fault)
{
    struct hr_journal *journal = &bag->resumed;
    enum hr_status status = HR_OK;
    size_t kept = 0, next = 0;
    for (size_t i = 0; i < walk->count && !status; i++) {
        const struct hr_walked *file = &walk->files[i];
        const char *path = file->path + strlen(HR_BAG_DATA "/");
        while (next < journal->count && strcmp(journal->rows[next].path, path) < 0)
            next++;
        const struct hr_bag_file *row = next < journal->count ? &journal->rows[next] : NULL;
        if (row && !strcmp(row->path, path) && file->kind == HR_ENTRY_FILE && file->size_bytes == row->size_bytes)
            journal->rows[kept++] = *row;
        else if (file->kind == HR_ENTRY_FOLDER)
            status = hr__fault_path(fault, file->status, 0, "cannot list", path);
        else
            status = add_loose(bag, path, file->size_bytes, fault);
    }
    journal->is_damaged |= kept != journal->count;
    journal->count = kept;
    return status;
}

enum hr_status hr__bag_read_rows(struct hr_bag *bag, struct hr_fault *fault)
{
    struct hr_walk walk = {0};
    struct hr_fault cause = {0};
    bool has_part = false, has_rows = false;
    hr_bag_forget_files(bag);
    bag->resumed.is_damaged = true;
    enum hr_status status = hr__bag_walk(&walk, &bag->folder, HR_BAG_DATA, &cause);
    if (status == HR_NOT_FOUND)
        return HR_OK;
    if (!status)
        status = hr__bag_holds(&has_part, &bag->folder, HR_BAG_FILES_PART, &cause);
    if (!status)
        status = hr__bag_holds(&has_rows, &bag->folder, HR_BAG_FILES, &cause);
    if (!status && (has_part || has_rows))
        status = hr__journal_load(&bag->resumed, &bag->folder, has_part ? HR_BAG_FILES_PART : HR_BAG_FILES, &cause);
    if (!status)
        status = match_rows(bag, &walk, &cause);
    hr__bag_walk_finish(&walk);
    return status ? hr__fault_set(fault, status, 0, "%s", cause.text) : HR_OK;
}

/* Another run may have finished it between the look and the lock. */
static enum hr_status take_lock(struct hr_bag *bag, struct hr_fault *fault)
{
    bool is_unfinished = false;
    enum hr_status status = hr__folder_open_below(&bag->folder, &bag->place, bag->below_place, fault);
    if (!status) {
        status = hr__folder_lock(&bag->folder, fault);
        if (status)
            hr__folder_close(&bag->folder);
    }
    if (!status)
        status = hr__bag_is_unfinished(&is_unfinished, &bag->folder, fault);
    if (!status && !is_unfinished)
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
    bag->loose_at_look = bag->loose_count;
    *out = bag;
    return HR_OK;
}
