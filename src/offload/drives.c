/* SPDX-License-Identifier: ISC */
#include "offload/drives.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"

void hr__drives_finish(struct hr_drives *drives)
{
    for (size_t i = 0; i < drives->count; i++) {
        free(drives->drives[i].name);
        free(drives->drives[i].disks);
    }
    free(drives->drives);
    *drives = (struct hr_drives){0};
}

enum hr_status hr__drives_number(size_t *number, struct hr_drives *drives, const char *disks, const char *name,
                                 struct hr_fault *fault)
{
    for (size_t i = 0; i < drives->count; i++) {
        if (!strcmp(drives->drives[i].disks, disks)) {
            *number = i;
            return HR_OK;
        }
    }
    if (drives->count == HR_DRIVES_MAX)
        return hr__fault_set(fault, HR_TOO_LARGE, 0, "copies stand on more than %d drives", HR_DRIVES_MAX);
    struct hr_safety_drive drive = {.name = strdup(name), .disks = strdup(disks), .counts = *disks != '\0'};
    if (!drive.name || !drive.disks ||
        !hr__array_reserve(&drives->drives, &drives->capacity, drives->count + 1, sizeof drive, HR_DRIVES_MAX)) {
        free(drive.name);
        free(drive.disks);
        return hr__fault_nomem(fault, "the list of drives");
    }
    *number = drives->count;
    drives->drives[drives->count++] = drive;
    return HR_OK;
}

static bool is_chosen(const struct hr_safety_drive *drive, uint64_t bits, size_t number)
{
    return drive->counts && bits & UINT64_C(1) << number;
}

static bool is_apart_from_all(const struct hr_safety_drive *drives, size_t count, uint64_t bits, size_t number)
{
    for (size_t i = 0; i < count; i++)
        if (is_chosen(&drives[i], bits, i) && hr__disks_apart(drives[i].disks, drives[number].disks) != HR_APART_YES)
            return false;
    return true;
}

static size_t count_beside(const struct hr_safety_drive *drives, size_t count, uint64_t bits, size_t first)
{
    uint64_t taken = UINT64_C(1) << first;
    size_t different = 1;
    for (size_t i = 0; i < count; i++) {
        if (is_chosen(&drives[i], bits, i) && is_apart_from_all(drives, count, taken, i)) {
            taken |= UINT64_C(1) << i;
            different++;
        }
    }
    return different;
}

/* Begun with each drive in turn, so that any two that differ are found. */
size_t hr__drives_different(const struct hr_safety_drive *drives, size_t count, uint64_t bits)
{
    size_t most = 0;
    for (size_t i = 0; i < count; i++) {
        size_t different = is_chosen(&drives[i], bits, i) ? count_beside(drives, count, bits, i) : 0;
        most = different > most ? different : most;
    }
    return most;
}
