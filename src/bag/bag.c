/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "bag/journal_proof.h"
#include "bag/tag_file.h"
#include "base/fault.h"
#include "base/path.h"
#include "platform/clock.h"

enum {
    NUMBERS_MAX = 1000,
    LABEL_CEILING = 1 << 16,
    FRAMES_GATHER_BYTES = 1 << 16 /* some 300 rows: to lose them means to read so many heads again */
};

/* ---- The object ---- */

enum hr_status hr__bag_new(struct hr_bag **out, const char *place, const struct hr_bag_label *label,
                           struct hr_fault *fault)
{
    if (!hr__bag_name_is_fit(label->job))
        return hr__fault_path(fault, HR_INVALID, 0, "no name for a folder:", label->job);
    if (!hr__bag_name_is_fit(label->card_name))
        return hr__fault_path(fault, HR_INVALID, 0, "no name for a folder:", label->card_name);
    if (!*label->card_identity || !hr__tag_value_is_fit(label->card_identity) ||
        !hr__tag_value_is_fit(label->description))
        return hr__fault_set(fault, HR_INVALID, 0, "the card's identity and description must be one line");
    struct hr_bag *bag = calloc(1, sizeof *bag);
    if (!bag)
        return hr__fault_nomem(fault, "a bag");
    *bag = (struct hr_bag){.place = HR_FOLDER_CLOSED,
                           .folder = HR_FOLDER_CLOSED,
                           .journal = HR_FILE_CLOSED,
                           .identity = strdup(label->card_identity),
                           .description = strdup(label->description)};
    hr__bag_log_init(&bag->throughput, HR_BAG_THROUGHPUT_PART, 0);
    hr__bag_log_init(&bag->frames, HR_BAG_FRAMES_PART, FRAMES_GATHER_BYTES);
    char *resolved = NULL;
    enum hr_status status = HR_OK;
    if (!bag->identity || !bag->description)
        status = hr__fault_nomem(fault, "a bag");
    if (!status)
        status = hr__path_resolve(&resolved, place, fault);
    if (!status)
        status = hr__folder_open(&bag->place, resolved, fault);
    free(resolved);
    if (status)
        hr_bag_close(bag);
    else
        *out = bag;
    return status;
}

enum hr_status hr__bag_settle(struct hr_bag *bag, const char *job, const char *name, struct hr_fault *fault)
{
    struct hr_text aside;
    hr__text_init(&aside, LABEL_CEILING);
    bag->below_place = hr__path_join(job, name);
    bag->path = bag->below_place ? hr__path_join(bag->place.path, bag->below_place) : NULL;
    bag->data_path = bag->path ? hr__path_join(bag->path, HR_BAG_DATA) : NULL;
    if (bag->data_path)
        hr__text_printf(&aside, "%s.aside", bag->path);
    bag->aside_path = bag->data_path ? hr__text_take(&aside) : NULL;
    hr__text_finish(&aside);
    return bag->aside_path ? HR_OK : hr__fault_nomem(fault, "a bag");
}

/* A folder that holds no file, and nothing but what we put beside it, is of no use to anybody. */
static void remove_unused(struct hr_bag *bag)
{
    if (!hr__bag_clear(&bag->folder))
        return;
    hr__folder_remove(&bag->place, bag->below_place, NULL);
    if (bag->made_job) {
        bag->below_place[hr__path_folder_length(bag->below_place)] = '\0';
        hr__folder_remove(&bag->place, bag->below_place, NULL);
    }
}

void hr_bag_close(struct hr_bag *bag)
{
    if (!bag)
        return;
    (void)hr__file_close(&bag->journal, NULL);
    hr_hasher_destroy(bag->journal_hasher);
    hr__bag_log_finish(&bag->throughput);
    hr__bag_log_finish(&bag->frames);
    if (bag->is_new && !bag->is_finished && bag->recorded == 0)
        remove_unused(bag);
    hr__folder_close(&bag->folder);
    hr__folder_close(&bag->place);
    hr_bag_forget_files(bag);
    free(bag->below_place);
    free(bag->path);
    free(bag->data_path);
    free(bag->aside_path);
    free(bag->identity);
    free(bag->description);
    free(bag);
}

const char *hr_bag_path(const struct hr_bag *bag)
{
    return bag->path;
}

const char *hr_bag_data_path(const struct hr_bag *bag)
{
    return bag->data_path;
}

const char *hr_bag_aside_path(const struct hr_bag *bag)
{
    return bag->aside_path;
}

/* ---- Making one ---- */

static void write_name(struct hr_text *out, const struct hr_bag_label *label, unsigned number)
{
    struct hr_civil at = hr__clock_civil(label->started_wall_ns);
    hr__text_printf(out, "%04d%02d%02d-%02d%02d%02d", at.year, at.month, at.day, at.hour, at.minute, at.second);
    if (number > 1)
        hr__text_printf(out, "-%u", number);
    hr__text_printf(out, "_%s", label->card_name);
}

/* The first of NAME, NAME with -2, -3 ... that nobody has. */
static enum hr_status make_folder(struct hr_bag *bag, const struct hr_bag_label *label, struct hr_fault *fault)
{
    struct hr_folder job;
    struct hr_text name;
    hr__text_init(&name, LABEL_CEILING);
    enum hr_status status = hr__folder_open_below(&job, &bag->place, label->job, fault);
    struct hr_fault cause = {0};
    if (!status) {
        hr__bag_clear_stubs(&job);
        status = HR_EXISTS;
    }
    for (unsigned number = 1; status == HR_EXISTS && number <= NUMBERS_MAX; number++) {
        hr__text_clear(&name);
        write_name(&name, label, number);
        hr_fault_clear(&cause);
        status = hr__folder_make_new(&job, name.bytes, &cause);
    }
    if (cause.status)
        hr__fault_set(fault, cause.status, 0, "%s", cause.text);
    if (!status)
        status = hr__bag_settle(bag, label->job, name.bytes, fault);
    if (!status)
        status = hr__folder_open_below(&bag->folder, &bag->place, bag->below_place, fault);
    bag->is_new = status == HR_OK;
    if (!status)
        status = hr__folder_lock(&bag->folder, fault);
    hr__folder_close(&job);
    hr__text_finish(&name);
    return status;
}

enum hr_status hr__bag_put_cover(const struct hr_bag *bag, struct hr_fault *fault)
{
    struct hr_text cover;
    hr__text_init(&cover, LABEL_CEILING);
    hr__tag_append(&cover, "External-Identifier", bag->identity);
    enum hr_status status = cover.broken
                                ? hr__fault_nomem(fault, "a tag file")
                                : hr__folder_put(&bag->folder, HR_BAG_INFO_PART, cover.bytes, cover.size, fault);
    hr__text_finish(&cover);
    return status;
}

enum hr_status hr__bag_open_journal(struct hr_bag *bag, struct hr_fault *fault)
{
    return hr__file_open(&bag->journal, &bag->folder, HR_BAG_FILES_PART, HR_FILE_APPEND, false, HR_BAG_FILES_PART,
                         fault);
}

static enum hr_status make_job(struct hr_bag *bag, const char *job, struct hr_fault *fault)
{
    struct hr_fault cause = {0};
    enum hr_status status = hr__folder_make_new(&bag->place, job, &cause);
    bag->made_job = status == HR_OK;
    if (status && status != HR_EXISTS)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    return HR_OK;
}

enum hr_status hr_bag_create(struct hr_bag **out, const char *place, const struct hr_bag_label *label,
                             struct hr_fault *fault)
{
    struct hr_bag *bag = NULL;
    enum hr_status status = hr__bag_new(&bag, place, label, fault);
    if (!bag)
        return status;
    status = make_job(bag, label->job, fault);
    if (!status)
        status = make_folder(bag, label, fault);
    if (!status)
        status = hr__bag_put_cover(bag, fault);
    if (!status)
        status = hr__folder_make_new(&bag->folder, HR_BAG_DATA, fault);
    if (!status)
        status = hr__bag_open_journal(bag, fault);
    if (!status)
        status = hr__journal_proof_begin(bag, fault);
    if (!status)
        status = hr__journal_proof_append(bag, hr__journal_header, strlen(hr__journal_header), fault);
    if (!status)
        status = hr__folder_sync(&bag->folder, "", fault);
    if (!status)
        status = hr__folder_sync(&bag->place, label->job, fault);
    if (!status)
        status = hr__folder_sync(&bag->place, "", fault);
    if (status)
        hr_bag_close(bag);
    else
        *out = bag;
    return status;
}
