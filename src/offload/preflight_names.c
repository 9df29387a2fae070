/* SPDX-License-Identifier: ISC */
#include <headrace/name.h>

#include "offload/preflight_names.h"

#include <stdlib.h>
#include <string.h>

#include "base/path.h"
#include "base/utf8.h"

/* FAT, exFAT and NTFS keep names as UTF-16, 255 units at most, and refuse these and control characters (exFAT
 * specification, sections 7.6 and 7.7.3). A dot at the end is lost: the drivers of Linux drop it without a word
 * (fs/fat/namei_vfat.c, fs/exfat/namei.c). */
static const char refused_characters[] = "\"*:<>?\\|";
enum { UTF16_UNITS_MAX = 255 };

static size_t count_utf16_units(const char *name, size_t length)
{
    size_t units = 0;
    for (size_t i = 0; i < length; i++) {
        unsigned char byte = (unsigned char)name[i];
        units += (byte & 0xC0) != 0x80; /* each character by its first byte */
        units += byte >= 0xF0;          /* and its surrogate */
    }
    return units;
}

static bool fits_utf16(const char *name, size_t length)
{
    if (!hr__utf8_is_valid(name, length) || name[length - 1] == '.')
        return false;
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)name[i] < 0x20 || strchr(refused_characters, name[i]))
            return false;
    return count_utf16_units(name, length) <= UTF16_UNITS_MAX;
}

bool hr__name_fits(const struct hr_volume *volume, const char *path)
{
    for (size_t length; *path; path += length, path += *path == '/') {
        length = strcspn(path, "/");
        bool fits = volume->names_must_be_utf8 ? fits_utf16(path, length)
                                               : volume->max_name_bytes == 0 || length <= volume->max_name_bytes;
        if (length > 0 && !fits)
            return false;
    }
    return true;
}

static enum hr_status say_unfit(struct hr_offload *offload, const struct hr_offload_place *place, const char *path)
{
    char name[HR_FAULT_TEXT_SIZE];
    hr_escape_name(name, sizeof name, path, strlen(path));
    return hr__say(&offload->refusals, "Place %s (%s) cannot hold the name %s: name a drive with another filesystem.",
                   place->given, place->volume.fs_type, name);
}

static enum hr_status check_job(struct hr_offload *offload, const struct hr_offload_place *place, const char *job)
{
    char name[HR_FAULT_TEXT_SIZE];
    if (hr__name_fits(&place->volume, job))
        return HR_OK;
    hr_escape_name(name, sizeof name, job, strlen(job));
    return hr__say(&offload->refusals,
                   "Place %s (%s) cannot hold a folder named %s as the job is: say --job with another.", place->given,
                   place->volume.fs_type, name);
}

static enum hr_status check_each(struct hr_offload *offload, const struct hr_offload_place *place,
                                 const struct hr_inventory *inventory)
{
    for (size_t i = 0; i < inventory->file_count; i++)
        if (!hr__name_fits(&place->volume, inventory->files[i].path))
            return say_unfit(offload, place, inventory->files[i].path);
    return HR_OK;
}

static enum hr_status check_twins(struct hr_offload *offload, const struct hr_offload_place *place,
                                  const struct hr_inventory *inventory)
{
    struct hr_name_twin *twins = NULL;
    size_t count = 0;
    enum hr_status status = hr_inventory_twins(&twins, &count, inventory, NULL);
    if (!status && count > 0) {
        char a[HR_FAULT_TEXT_SIZE], b[HR_FAULT_TEXT_SIZE];
        const char *first = inventory->files[twins[0].a].path, *second = inventory->files[twins[0].b].path;
        hr_escape_name(a, sizeof a, first, strlen(first));
        hr_escape_name(b, sizeof b, second, strlen(second));
        status =
            hr__say(&offload->refusals, "Place %s (%s) cannot tell %s from %s: name a drive with another filesystem.",
                    place->given, place->volume.fs_type, a, b);
    }
    free(twins);
    return status;
}

enum hr_status hr__preflight_names(struct hr_offload *offload, size_t place, size_t card)
{
    const struct hr_offload_place *here = &offload->places[place];
    const struct hr_inventory *inventory = offload->cards[card].inventory;
    const char *job = offload->cards[card].job;
    bool is_said = card > 0 && !strcmp(offload->cards[card - 1].job, job);
    enum hr_status status = is_said ? HR_OK : check_job(offload, here, job);
    if (!status)
        status = check_each(offload, here, inventory);
    if (!status && here->volume.folds_case)
        status = check_twins(offload, here, inventory);
    return status;
}
