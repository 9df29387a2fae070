/* SPDX-License-Identifier: ISC */
/* What stands in the bag against what is listed, before any payload is read. */
#include "bag/bag_names.h"
#include "bag/inspection.h"
#include "base/fault.h"

/* True when it is a file to be read. Links are never followed, not even to where they would do no harm. */
static bool is_plain(struct hr_inspection *inspection, const struct hr_walked *file)
{
    if (file->status || file->kind == HR_ENTRY_FOLDER)
        hr__inspection_problem(inspection, HR_BAG_FILE_UNREADABLE, file->path, "%s", hr_status_name(file->status));
    else if (file->kind == HR_ENTRY_LINK)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, file->path, "is a symbolic link: not followed");
    else if (file->kind != HR_ENTRY_FILE)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, file->path, "is no regular file: not read");
    else
        return true;
    return false;
}

static void compare(struct hr_inspection *inspection)
{
    size_t unproven = 0;
    for (size_t i = 0; i < inspection->data.count; i++) {
        const struct hr_walked *file = &inspection->data.files[i];
        struct hr_listed *listed = hr__inspection_listed(inspection, file->path);
        bool can_be_read = is_plain(inspection, file);
        if (listed)
            listed->is_standing = can_be_read;
        else if (can_be_read && inspection->is_unfinished)
            unproven++;
        else if (can_be_read)
            hr__inspection_problem(inspection, HR_BAG_FILE_UNLISTED, file->path, "is in no manifest");
    }
    if (unproven)
        hr__inspection_problem(inspection, HR_BAG_WARNING, "", "files not proven yet: %zu", unproven);
}

static bool was_met(const struct hr_inspection *inspection, const struct hr_listed *listed)
{
    return listed->is_standing || hr__bag_walk_find(&inspection->data, listed->path);
}

enum hr_status hr__inspect_presence(struct hr_inspection *inspection, struct hr_fault *fault)
{
    struct hr_fault cause = {0};
    enum hr_status status = hr__bag_walk(&inspection->data, &inspection->folder, HR_BAG_DATA, &cause);
    if (status == HR_GONE || status == HR_NOMEM)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    if (status)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, HR_BAG_DATA, "there is no payload folder: %s",
                               cause.text);
    compare(inspection);
    for (size_t i = 0; i < inspection->listed_count; i++)
        if (!was_met(inspection, &inspection->listed[i]))
            hr__inspection_problem(inspection, HR_BAG_FILE_MISSING, inspection->listed[i].path,
                                   "is in a manifest but not there");
    return HR_OK;
}
