/* SPDX-License-Identifier: ISC */
/* POSIX alone tells the device number of a path, and nothing of what stands behind it. */
#include "platform/volume.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "platform/mount.h"
#include "platform/system.h"

enum hr_status hr__variant_volume(struct hr_volume *volume, const char *resolved, const struct hr_system_roots *roots,
                                  struct hr_fault *fault)
{
    (void)roots;
    volume->mount_point = hr__mount_point_above(resolved, volume->device);
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
