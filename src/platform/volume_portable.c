/* SPDX-License-Identifier: ISC */
/* POSIX alone tells the device number of a path, and nothing of what stands behind it. */
#include "platform/volume.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/fault.h"
#include "base/path.h"
#include "platform/system.h"

static bool is_on(const char *path, uint64_t device)
{
    struct stat facts;
    return stat(path, &facts) == 0 && (uint64_t)facts.st_dev == device;
}

/* The highest folder on the same device; owned by the caller. */
static char *find_mount_point(const char *resolved, uint64_t device)
{
    char *point = strdup(resolved);
    char *above = point ? strdup(point) : NULL;
    while (above && strcmp(above, "/") != 0) {
        size_t length = hr__path_folder_length(above);
        above[length ? length : 1] = '\0';
        if (!is_on(above, device))
            break;
        memcpy(point, above, strlen(above) + 1);
    }
    if (!above) {
        free(point);
        point = NULL;
    }
    free(above);
    return point;
}

enum hr_status hr__variant_volume(struct hr_volume *volume, const char *resolved, const struct hr_system_roots *roots,
                                  struct hr_fault *fault)
{
    (void)roots;
    volume->mount_point = find_mount_point(resolved, volume->device);
    volume->source = strdup("");
    if (!volume->mount_point || !volume->source)
        return hr__fault_nomem(fault, "a mount");
    snprintf(volume->fs_type, sizeof volume->fs_type, "unknown");
    return HR_OK;
}

bool hr__volume_drop_device_cache(const struct hr_volume *volume)
{
    (void)volume;
    return false;
}
