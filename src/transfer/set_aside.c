/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "transfer/place.h"

enum { ASIDE_MAX = 100 }; /* bad copies of one file, of all runs that went on with its bag */

/* *aside is where it went, owned by the caller. */
static enum hr_status move_aside(char **aside, const struct hr_place *place, uint32_t item, const char *path,
                                 unsigned number, struct hr_fault *fault)
{
    *aside = hr__place_aside_path(place, item, number);
    char *folder = *aside ? strndup(*aside, hr__path_folder_length(*aside)) : NULL;
    enum hr_status status = folder ? HR_OK : hr__fault_nomem(fault, "a name");
    if (!status)
        status = hr__folder_make(&place->root, folder, fault);
    if (!status)
        status = hr__folder_rename(&place->root, path, *aside, fault);
    free(folder);
    return status;
}

enum hr_status hr__place_set_aside(struct hr_place *place, uint32_t item, const char *path, const char *what,
                                   struct hr_fault *fault)
{
    struct hr_fault moving = {0};
    char *aside = NULL;
    enum hr_status status = HR_EXISTS;
    for (unsigned number = 1; status == HR_EXISTS && number <= ASIDE_MAX; number++) {
        free(aside);
        hr_fault_clear(&moving);
        status = move_aside(&aside, place, item, path, number, &moving);
    }
    if (status)
        hr__fault_set(fault, HR_DIFFERS, 0, "%s: %s, and could not be set aside: %s", path, what, moving.text);
    else
        hr__fault_set(fault, HR_DIFFERS, 0, "%s: %s; the bad copy is kept as %s/%s", path, what, place->root.path,
                      aside);
    free(aside);
    return HR_DIFFERS;
}
