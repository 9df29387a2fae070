/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/giving.h"
#include "bag/inspection.h"
#include "base/fault.h"
#include "base/path.h"
#include "platform/volume.h"

/* ---- Opening ---- */

static enum hr_status look_at_volume(struct hr_giving *giving, struct hr_fault *fault)
{
    struct hr_volume volume;
    enum hr_status status = hr__volume_of(&volume, giving->beside.path, &hr__system_roots, fault);
    if (status)
        return status;
    giving->renames_whole = volume.renames_whole;
    hr__volume_finish(&volume);
    return HR_OK;
}

static enum hr_status open_bag(struct hr_giving *giving, const char *path, struct hr_fault *fault)
{
    char *resolved = NULL, *above = NULL;
    *giving = (struct hr_giving){.folder = HR_FOLDER_CLOSED, .beside = HR_FOLDER_CLOSED};
    enum hr_status status = hr__path_resolve(&resolved, path, fault);
    if (!status)
        status = hr__folder_open(&giving->folder, resolved, fault);
    if (!status) {
        giving->name = hr__path_last(giving->folder.path);
        above = strndup(resolved, hr__path_folder_length(resolved));
        status = above ? hr__folder_open(&giving->beside, *above ? above : "/", fault)
                       : hr__fault_nomem(fault, "what leaves a bag");
    }
    if (!status)
        status = look_at_volume(giving, fault);
    free(above);
    free(resolved);
    return status;
}

static void close_bag(struct hr_giving *giving)
{
    hr__folder_close(&giving->folder);
    hr__folder_close(&giving->beside);
    hr__journal_finish(&giving->files);
    free(giving->rows);
    free(giving->text);
}

static enum hr_status judge(const struct hr_inspection *inspection, struct hr_fault *fault)
{
    const struct hr_bag_report *report = inspection->report;
    if (!report->is_ours || inspection->is_unfinished)
        return hr__fault_path(fault, HR_UNSUPPORTED, 0, "files leave finished bags of ours alone, not", report->path);
    char shown[HR_SHOWN_SIZE];
    for (size_t i = 0; i < report->problem_count; i++)
        if (report->problems[i].kind != HR_BAG_WARNING)
            return hr__fault_set(fault, HR_DIFFERS, 0, "nothing leaves a bag that is not as it must be: %s %s",
                                 hr__inspection_shown(shown, report->problems[i].path), report->problems[i].text);
    return HR_OK;
}

/* New tag files vouch for the old ones: what these say must be what was once written. */
static enum hr_status check(const struct hr_giving *giving, struct hr_fault *fault)
{
    struct hr_inspection inspection = {.folder = HR_FOLDER_CLOSED};
    enum hr_status status = hr__inspection_begin(&inspection, giving->folder.path, fault);
    if (!status)
        status = hr__inspect_declaration(&inspection, fault);
    if (!status)
        status = hr__inspect_manifests(&inspection, fault);
    if (!status)
        status = hr__inspect_presence(&inspection, fault);
    if (!status)
        status = hr__inspect_info(&inspection, fault);
    if (!status)
        status = hr__inspect_tags(&inspection, fault);
    if (!status)
        status = judge(&inspection, fault);
    hr__inspection_finish(&inspection);
    return status;
}

/* ---- Going through ---- */

static bool all_left(const struct hr_giving *giving)
{
    for (size_t i = 0; i < giving->count; i++)
        if (giving->rows[i].status)
            return false;
    return true;
}

/* From step 3 on. `tags_are_right`: the new tag files were written for these rows. */
static enum hr_status go_on(struct hr_giving *giving, bool tags_are_right, struct hr_fault *fault)
{
    enum hr_status status = hr__giving_move(giving, fault);
    if (!status && !(tags_are_right && all_left(giving)))
        status = hr__giving_write_tags(giving, fault);
    if (!status)
        status = hr__giving_place_tags(giving, fault);
    if (!status)
        status = hr__folder_remove(&giving->folder, HR_BAG_GIVING_UP, fault);
    return status ? status : hr__folder_sync(&giving->folder, "", fault);
}

static enum hr_status load_files(struct hr_giving *giving, struct hr_fault *fault)
{
    hr__journal_finish(&giving->files);
    char name[HR_TAG_NAME_SIZE];
    hr__giving_standing(name, giving, HR_BAG_FILES);
    enum hr_status status = hr__journal_load(&giving->files, &giving->folder, name, fault);
    if (!status && giving->files.is_damaged)
        status = hr__fault_path(fault, HR_MALFORMED, 0, "cannot read what stands in the bag", giving->folder.path);
    return status;
}

static enum hr_status end_interrupted(struct hr_giving *giving, struct hr_fault *fault)
{
    bool is_giving_up;
    enum hr_status status = hr__bag_holds(&is_giving_up, &giving->folder, HR_BAG_GIVING_UP, fault);
    if (status || !is_giving_up)
        return status;
    status = hr__giving_load(giving, fault);
    if (!status)
        status = hr__giving_save(giving, fault); /* clears what a torn rename left of it */
    if (!status)
        status = load_files(giving, fault);
    if (!status)
        status = go_on(giving, false, fault);
    giving->count = 0;
    return status;
}

/* What cannot leave is told before anything is written. */
static enum hr_status look_at(const struct hr_giving *giving, const struct hr_bag_leaving *file)
{
    struct hr_file_facts there;
    bool is_listed = hr__journal_find(&giving->files, file->path) != NULL;
    enum hr_status status = hr__folder_facts(&there, &giving->beside, file->to, NULL);
    if (!is_listed)
        return status == HR_OK && there.is_regular ? HR_OK : HR_NOT_FOUND; /* it left earlier */
    return status == HR_NOT_FOUND || status == HR_OK ? HR_OK : status;
}

static enum hr_status take_rows(struct hr_giving *giving, struct hr_bag_leaving *files, size_t count,
                                struct hr_fault *fault)
{
    for (size_t i = 0; i < count; i++) {
        files[i].status = look_at(giving, &files[i]);
        if (!files[i].status && hr__journal_find(&giving->files, files[i].path) &&
            !hr__giving_add(giving, files[i].path, files[i].to))
            return hr__fault_nomem(fault, "what leaves a bag");
    }
    hr__giving_sort(giving);
    return HR_OK;
}

static enum hr_status begin(struct hr_giving *giving, struct hr_fault *fault)
{
    hr__giving_drop_tags(giving);
    enum hr_status status = hr__giving_write_tags(giving, fault);
    if (!status)
        status = hr__giving_save(giving, fault);
    bool is_on_record;
    if (status && !hr__bag_holds(&is_on_record, &giving->folder, HR_BAG_GIVING_UP, NULL) && !is_on_record)
        hr__giving_drop_tags(giving);
    return status;
}

static enum hr_status give_up(struct hr_giving *giving, struct hr_bag_leaving *files, size_t count,
                              struct hr_fault *fault)
{
    enum hr_status status = check(giving, fault);
    if (!status)
        status = load_files(giving, fault);
    if (!status)
        status = take_rows(giving, files, count, fault);
    if (status || giving->count == 0)
        return status;
    status = begin(giving, fault);
    if (!status)
        status = go_on(giving, true, fault);
    for (size_t i = 0; i < count && !status; i++) {
        const struct hr_given *row = hr__giving_find(giving, files[i].path);
        if (row)
            files[i].status = strcmp(row->to, files[i].to) == 0 ? row->status : HR_NOT_FOUND;
    }
    return status;
}

enum hr_status hr_bag_give_up(const char *path, struct hr_bag_leaving *files, size_t count,
                              const struct hr_bag_leaving_observer *observer, const struct hr_cancel *cancel,
                              struct hr_fault *fault)
{
    struct hr_giving giving;
    bool is_giving_up = false;
    enum hr_status status = open_bag(&giving, path, fault);
    giving.observer = observer;
    giving.cancel = cancel;
    if (!status)
        status = hr__bag_holds(&is_giving_up, &giving.folder, HR_BAG_GIVING_UP, fault);
    if (!status && (count > 0 || is_giving_up))
        status = hr__folder_lock(&giving.folder, fault);
    if (!status)
        status = end_interrupted(&giving, fault);
    if (!status && count > 0)
        status = give_up(&giving, files, count, fault);
    close_bag(&giving);
    return status;
}
