/* SPDX-License-Identifier: ISC */
#include "offload/drives.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/text.h"

enum { DISKS_TEXT_CEILING = HR_DISKS_MAX * (HR_IDENTITY_SIZE + 1) };

void hr__drives_finish(struct hr_drives *drives)
{
    for (size_t i = 0; i < drives->count; i++) {
        free(drives->drives[i].name);
        free(drives->drives[i].disks);
    }
    free(drives->drives);
    *drives = (struct hr_drives){0};
}

static bool has_line(const char *text, const char *line, size_t length)
{
    for (const char *at = text; *at; at += strcspn(at, "\n"), at += *at == '\n')
        if (strcspn(at, "\n") == length && !memcmp(at, line, length))
            return true;
    return false;
}

bool hr__disks_overlap(const char *a, const char *b)
{
    for (; *a; a += strcspn(a, "\n"), a += *a == '\n')
        if (has_line(b, a, strcspn(a, "\n")))
            return true;
    return false;
}

enum hr_status hr__drives_number(size_t *number, struct hr_drives *drives, const char *disks, const char *name,
                                 struct hr_fault *fault)
{
    for (size_t i = 0; i < drives->count; i++) {
        bool are_memory = !*disks && !*drives->drives[i].disks;
        if (are_memory || hr__disks_overlap(drives->drives[i].disks, disks)) {
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

static int compare_disks(const void *a, const void *b)
{
    return strcmp(((const struct hr_disk *)a)->identity, ((const struct hr_disk *)b)->identity);
}

char *hr__disks_text(const struct hr_volume *volume)
{
    struct hr_disk sorted[HR_DISKS_MAX];
    struct hr_text text;
    hr__text_init(&text, DISKS_TEXT_CEILING);
    size_t count = volume->is_in_memory ? 0 : volume->disk_count;
    memcpy(sorted, volume->disks, sizeof sorted);
    qsort(sorted, count, sizeof *sorted, compare_disks);
    for (size_t i = 0; i < count; i++)
        hr__text_printf(&text, "%s%s", i ? "\n" : "", sorted[i].identity);
    return hr__text_take(&text);
}
