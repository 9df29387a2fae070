/* SPDX-License-Identifier: ISC */
#include "offload/bag_record.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "offload/drives.h"

const char *hr__path_on_volume(const struct hr_volume *volume, const char *path)
{
    if (hr__path_contains(volume->mount_point, path))
        path += strlen(volume->mount_point);
    while (*path == '/')
        path++;
    return path;
}

enum hr_status hr__bag_record(int64_t *id, struct hr_ledger *ledger, const char *bag_path, const char *card_identity,
                              const char *card_name, const char *job, const struct hr_volume *volume,
                              struct hr_fault *fault)
{
    char *disks = hr__disks_text(volume);
    if (!disks)
        return hr__fault_nomem(fault, "a bag's record");
    struct hr_ledger_bag bag = {.card_identity = card_identity,
                                .card_name = card_name,
                                .job = job,
                                .volume = volume->place_identity,
                                .disks = disks,
                                .mount_point = volume->mount_point,
                                .path_on_volume = hr__path_on_volume(volume, bag_path)};
    enum hr_status status = hr_ledger_add_bag(id, ledger, &bag, fault);
    free(disks);
    return status;
}
