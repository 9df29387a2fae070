/* SPDX-License-Identifier: ISC */
#include "devices/measure_scratch.h"

enum { FILES_MAX = 1 << 14 };

static const char name[] = ".headrace-measure";

static enum hr_status empty(const struct hr_folder *scratch, struct hr_fault *fault)
{
    struct hr_entry *entries = NULL;
    size_t count = 0;
    enum hr_status status = hr__folder_list(&entries, &count, scratch, "", FILES_MAX, fault);
    for (size_t i = 0; i < count && !status; i++)
        status = hr__folder_remove(scratch, entries[i].name, fault);
    hr__entries_free(entries, count);
    return status;
}

enum hr_status hr__scratch_open(struct hr_folder *scratch, const struct hr_folder *root, struct hr_fault *fault)
{
    enum hr_status status = hr__folder_make(root, name, fault);
    if (!status)
        status = hr__folder_open_below(scratch, root, name, fault);
    if (!status)
        status = hr__folder_lock(scratch, fault);
    if (!status)
        return empty(scratch, fault);
    hr__folder_close(scratch); /* another's is not ours to remove */
    return status;
}

enum hr_status hr__scratch_remove(struct hr_folder *scratch, const struct hr_folder *root, struct hr_fault *fault)
{
    if (scratch->descriptor < 0)
        return HR_OK;
    enum hr_status status = empty(scratch, fault);
    if (!status)
        status = hr__folder_remove(root, name, fault);
    hr__folder_close(scratch);
    return status;
}
