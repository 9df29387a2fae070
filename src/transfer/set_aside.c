/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/text.h"
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

static void tell_kept(struct hr_fault *fault, const char *path, const char *what, const char *root, const char *aside)
{
    struct hr_text kept;
    hr__text_init(&kept, HR_FAULT_TEXT_SIZE);
    hr__text_append_name(&kept, root, strlen(root));
    hr__text_append(&kept, "/");
    hr__text_append_name(&kept, aside, strlen(aside));
    hr__fault_about(fault, HR_DIFFERS, path, "%s; the bad copy is kept as %s", what, kept.bytes);
    hr__text_finish(&kept);
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
        hr__fault_about(fault, HR_DIFFERS, path, "%s, and could not be set aside: %s", what, moving.text);
    else
        tell_kept(fault, path, what, place->root.path, aside);
    free(aside);
    return HR_DIFFERS;
}
