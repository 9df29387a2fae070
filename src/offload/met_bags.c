/* SPDX-License-Identifier: ISC */
#include "offload/met_bags.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"

enum { BAGS_MAX = 1 << 16 };

void hr__met_bags_finish(struct hr_met_bags *met)
{
    for (size_t i = 0; i < met->count; i++)
        hr__folder_close(&met->bags[i].data);
    free(met->bags);
    hr__mounted_finish(&met->mounted);
}

static bool stands_in(const struct hr_known_place *place, const struct hr_ledger_bag *bag)
{
    size_t length = strlen(place->path_on_volume);
    if (strcmp(place->volume, bag->volume) != 0)
        return false;
    return length == 0 ||
           (!strncmp(place->path_on_volume, bag->path_on_volume, length) && bag->path_on_volume[length] == '/');
}

/* A place that was named now, or what stands at the mount point of then, as far as it can be told from the bag's: what
 * cannot be looked at may be it. NULL: not there. The caller frees. */
static enum hr_status look_where_it_was(char **mount_point, const struct hr_look_up *look_up,
                                        const struct hr_ledger_bag *bag, struct hr_fault *fault)
{
    struct hr_volume volume = {0};
    const char *found = NULL;
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < look_up->place_count && !found; i++)
        if (!strcmp(look_up->places[i].volume, bag->volume))
            found = look_up->places[i].mount_point;
    if (!found) {
        status = hr__volume_of(&volume, bag->mount_point, &hr__system_roots, NULL);
        bool is_absent = status == HR_NOT_FOUND || status == HR_INVALID;
        bool is_it = status == HR_OK && (!strcmp(volume.place_identity, bag->volume) ||
                                         (!strcmp(volume.mount_point, bag->mount_point) &&
                                          !hr__mounted_is_another(volume.place_identity, bag->volume)));
        if (is_it)
            found = volume.mount_point;
        else if (status && !is_absent)
            found = bag->mount_point;
    }
    *mount_point = found ? strdup(found) : NULL;
    hr__volume_finish(&volume);
    return status == HR_NOMEM || (found && !*mount_point) ? hr__fault_nomem(fault, "a drive's mount point") : HR_OK;
}

/* Its volume may be mounted elsewhere than it was. Where its drive holds another volume now, the bag is gone, and the
 * drive is connected all the same. */
static enum hr_status find_mount_point(char **mount_point, bool *is_connected, struct hr_mounted_list *mounted,
                                       const struct hr_look_up *look_up, const struct hr_ledger_bag *bag,
                                       struct hr_fault *fault)
{
    enum hr_status status = look_where_it_was(mount_point, look_up, bag, fault);
    if (!status && !*mount_point) {
        status = hr__mounted_load(mounted, fault);
        const char *found = hr__mounted_find(mounted, bag->volume);
        if (!status && found && !(*mount_point = strdup(found)))
            status = hr__fault_nomem(fault, "a drive's mount point");
    }
    *is_connected = *mount_point || hr__mounted_has_another(mounted, bag->volume, bag->disks);
    return status;
}

/* The drive as it is told now, where the volume is mounted: behind another bridge one drive has another name, and must
 * not count as a second one. */
static enum hr_status number_drive(struct hr_met_bag *met, struct hr_drives *drives, const char *mount_point,
                                   const struct hr_ledger_bag *bag, struct hr_fault *fault)
{
    struct hr_volume volume = {0};
    char *disks = NULL;
    enum hr_status status = HR_OK;
    bool is_mounted = mount_point && hr__volume_of(&volume, mount_point, &hr__system_roots, NULL) == HR_OK &&
                      strcmp(volume.place_identity, bag->volume) == 0;
    if (is_mounted && !(disks = hr__disks_text(&volume)))
        status = hr__fault_nomem(fault, "a drive");
    if (!status)
        status = hr__drives_number(&met->drive, drives, disks ? disks : bag->disks, bag->mount_point, fault);
    free(disks);
    hr__volume_finish(&volume);
    return status;
}

static enum hr_status connect(struct hr_met_bag *met, struct hr_mounted_list *mounted, const struct hr_look_up *look_up,
                              struct hr_drives *drives, const struct hr_ledger_bag *bag, struct hr_fault *fault)
{
    char *mount_point = NULL;
    enum hr_status status = find_mount_point(&mount_point, &met->is_connected, mounted, look_up, bag, fault);
    if (!status)
        status = number_drive(met, drives, mount_point, bag, fault);
    char *path = mount_point ? hr__path_join(mount_point, bag->path_on_volume) : NULL;
    char *data = path ? hr__path_join(path, "data") : NULL;
    if (!status && mount_point && !data)
        status = hr__fault_nomem(fault, "the path of a bag");
    if (status || !data || hr__folder_open(&met->data, data, NULL) != HR_OK)
        met->data = HR_FOLDER_CLOSED;
    free(data);
    free(path);
    free(mount_point);
    return status;
}

static enum hr_status meet(struct hr_met_bag *met, struct hr_mounted_list *mounted, const struct hr_look_up *look_up,
                           struct hr_drives *drives, struct hr_fault *fault)
{
    struct hr_ledger_bag bag;
    enum hr_status status = hr_ledger_bag(&bag, look_up->ledger, met->id, fault);
    if (status)
        return status;
    for (size_t i = 0; i < look_up->place_count; i++)
        met->places |= (uint8_t)(stands_in(&look_up->places[i], &bag) << i);
    status = connect(met, mounted, look_up, drives, &bag, fault);
    if (!status)
        drives->drives[met->drive].is_connected |= met->is_connected;
    return status;
}

enum hr_status hr__met_bags_find(struct hr_met_bag **out, struct hr_met_bags *met, int64_t id,
                                 const struct hr_look_up *look_up, struct hr_drives *drives, struct hr_fault *fault)
{
    for (size_t i = 0; i < met->count; i++)
        if (met->bags[i].id == id) {
            *out = &met->bags[i];
            return HR_OK;
        }
    struct hr_met_bag bag = {.id = id, .data = HR_FOLDER_CLOSED};
    if (!hr__array_reserve(&met->bags, &met->capacity, met->count + 1, sizeof bag, BAGS_MAX))
        return hr__fault_nomem(fault, "the list of bags");
    enum hr_status status = meet(&bag, &met->mounted, look_up, drives, fault);
    if (status)
        return status;
    met->bags[met->count] = bag;
    *out = &met->bags[met->count++];
    return HR_OK;
}

bool hr__met_bag_holds(const struct hr_met_bag *bag, const char *path, uint64_t size_bytes)
{
    struct hr_file_facts facts;
    if (!bag->is_connected)
        return true;
    return bag->data.descriptor >= 0 && hr__folder_facts(&facts, &bag->data, path, NULL) == HR_OK && facts.is_regular &&
           facts.size_bytes == size_bytes;
}
