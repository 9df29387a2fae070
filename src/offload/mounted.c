/* SPDX-License-Identifier: ISC */
#include "offload/mounted.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "platform/apart.h"
#include "platform/plugged.h"

enum { MOUNTED_MAX = 1 << 16 };

void hr__mounted_finish(struct hr_mounted_list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->mounted[i].mount_point);
        free(list->mounted[i].volume);
        free(list->mounted[i].disks);
    }
    free(list->mounted);
    *list = (struct hr_mounted_list){0};
}

/* What cannot be looked at is left out: nothing can be told of it. */
static bool add(struct hr_mounted_list *list, const char *mount_point)
{
    struct hr_volume volume;
    enum hr_status status = hr__volume_of(&volume, mount_point, &hr__system_roots, NULL);
    if (status)
        return status != HR_NOMEM;
    if (!hr__array_reserve(&list->mounted, &list->capacity, list->count + 1, sizeof *list->mounted, MOUNTED_MAX)) {
        hr__volume_finish(&volume);
        return false;
    }
    struct hr_mounted *mounted = &list->mounted[list->count++];
    *mounted = (struct hr_mounted){.mount_point = strdup(volume.mount_point),
                                   .volume = strdup(volume.place_identity),
                                   .disks = hr__disks_text(&volume)};
    hr__volume_finish(&volume);
    return mounted->mount_point && mounted->volume && mounted->disks;
}

static bool add_lines(struct hr_mounted_list *list, char *mount_points)
{
    bool has_memory = true;
    char *rest = NULL;
    for (char *line = strtok_r(mount_points, "\n", &rest); line && has_memory; line = strtok_r(NULL, "\n", &rest))
        has_memory = add(list, line);
    return has_memory;
}

enum hr_status hr__mounted_load(struct hr_mounted_list *list, struct hr_fault *fault)
{
    struct hr_plugged *disks = NULL;
    size_t count = 0;
    if (list->is_loaded)
        return HR_OK;
    bool has_memory = hr__plugged_list(&disks, &count, &hr__system_roots, NULL) != HR_NOMEM;
    for (size_t i = 0; i < count && has_memory; i++)
        has_memory = add_lines(list, disks[i].mount_points);
    hr__plugged_free(disks, count);
    if (!has_memory) {
        hr__mounted_finish(list);
        return hr__fault_nomem(fault, "the list of mounts");
    }
    list->is_loaded = true;
    return HR_OK;
}

const char *hr__mounted_find(const struct hr_mounted_list *list, const char *volume)
{
    for (size_t i = 0; i < list->count; i++)
        if (!strcmp(list->mounted[i].volume, volume))
            return list->mounted[i].mount_point;
    return NULL;
}

/* Of a weak identity the mount point says nothing of the volume. */
static size_t telling_length(const char *volume)
{
    static const char weak[] = "size:";
    size_t form = strlen(weak);
    return strncmp(volume, weak, form) ? strlen(volume) : form + strcspn(volume + form, ":");
}

bool hr__mounted_is_another(const char *volume, const char *other)
{
    size_t form = strcspn(volume, ":") + 1, length = telling_length(volume);
    return !strncmp(volume, other, form) && (length != telling_length(other) || memcmp(volume, other, length) != 0);
}

bool hr__mounted_has_another(const struct hr_mounted_list *list, const char *volume, const char *disks)
{
    if (hr__plugged_has_volume(volume, &hr__system_roots))
        return false;
    for (size_t i = 0; i < list->count; i++)
        if (hr__mounted_is_another(volume, list->mounted[i].volume) &&
            hr__disks_apart(list->mounted[i].disks, disks) == HR_APART_NO)
            return true;
    return false;
}
