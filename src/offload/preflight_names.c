/* SPDX-License-Identifier: ISC */
#include <headrace/name.h>

#include "offload/preflight_names.h"

#include <stdlib.h>
#include <string.h>

#include "base/path.h"
#include "base/utf8.h"

/* FAT, exFAT and NTFS refuse these and control characters (exFAT specification, section 7.7.3). */
static const char refused_characters[] = "\"*:<>?\\|";

static bool fits_length(const char *path, size_t max_name_bytes)
{
    for (size_t length; *path; path += length, path += *path == '/') {
        length = strcspn(path, "/");
        if (length > max_name_bytes)
            return false;
    }
    return true;
}

static bool fits_characters(const char *path)
{
    if (!hr__utf8_is_valid(path, strlen(path)))
        return false;
    for (; *path; path++)
        if ((unsigned char)*path < 0x20 || strchr(refused_characters, *path))
            return false;
    return true;
}

static enum hr_status check_each(struct hr_offload *offload, const struct hr_offload_place *place,
                                 const struct hr_inventory *inventory)
{
    for (size_t i = 0; i < inventory->file_count; i++) {
        const char *path = inventory->files[i].path;
        bool fits = !place->volume.names_must_be_utf8 || fits_characters(path);
        if (fits && (place->volume.max_name_bytes == 0 || fits_length(path, place->volume.max_name_bytes)))
            continue;
        char name[HR_FAULT_TEXT_SIZE];
        hr_escape_name(name, sizeof name, path, strlen(path));
        return hr__say(&offload->refusals,
                       "Place %s (%s) cannot hold the name %s: name a drive with another filesystem.", place->given,
                       place->volume.fs_type, name);
    }
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
    enum hr_status status = check_each(offload, here, inventory);
    if (!status && here->volume.folds_case)
        status = check_twins(offload, here, inventory);
    return status;
}
