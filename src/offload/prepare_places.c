/* SPDX-License-Identifier: ISC */
#include <stdlib.h>

#include "base/fault.h"
#include "offload/offload_state.h"
#include "platform/folder.h"

/* Whether the place can be used is preflight's to say; what is missing here is only noted as missing. */
static enum hr_status look_at_place(struct hr_offload *offload, struct hr_offload_place *place, struct hr_fault *fault)
{
    struct hr_fault cause = {0};
    struct hr_folder folder = HR_FOLDER_CLOSED;
    enum hr_status status = hr__folder_open(&folder, place->given, &cause);
    if (!status)
        status = hr__path_resolve(&place->path, place->given, &cause);
    if (!status)
        status = hr__volume_of(&place->volume, place->path, &hr__system_roots, &cause);
    hr__folder_close(&folder);
    place->has_volume = !status;
    if (status == HR_NOT_FOUND)
        return hr__say(&offload->refusals, "Place %s does not exist: plug the drive in, or make the folder.",
                       place->given);
    if (status == HR_INVALID)
        return hr__say(&offload->refusals, "Place %s is not a folder.", place->given);
    if (status)
        return hr__say(&offload->refusals, "Place %s cannot be used: %s.", place->given, cause.text);
    place->disks = hr__disks_text(&place->volume);
    return place->disks ? HR_OK : hr__fault_nomem(fault, "a place");
}

enum hr_status hr__prepare_places(struct hr_offload *offload, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < offload->options.place_count && !status; i++) {
        offload->places[i].given = offload->options.places[i];
        status = look_at_place(offload, &offload->places[i], fault);
    }
    return status;
}
