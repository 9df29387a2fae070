/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "transfer/place.h"

enum hr_status hr__place_set_aside(struct hr_place *place, uint32_t item, const char *path, struct hr_fault *fault)
{
    char *aside = hr__place_aside_path(place, item);
    char *folder = aside ? strndup(aside, hr__path_folder_length(aside)) : NULL;
    struct hr_fault moving = {0};
    enum hr_status status = HR_OK;
    if (!folder)
        status = hr__fault_nomem(&moving, "a name");
    if (!status)
        status = hr__folder_make(&place->root, folder, &moving);
    if (!status)
        status = hr__folder_rename(&place->root, path, aside, &moving);
    if (status)
        hr__fault_set(fault, HR_DIFFERS, 0, "%s: reads back different from the card, and could not be set aside: %s",
                      path, moving.text);
    else
        hr__fault_set(fault, HR_DIFFERS, 0, "%s: reads back different from the card; the bad copy is kept as %s/%s",
                      path, place->root.path, aside);
    free(folder);
    free(aside);
    return HR_DIFFERS;
}
