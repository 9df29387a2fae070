/* SPDX-License-Identifier: ISC */
/* Which line of mountinfo answers for a path. One line alone is hr__mount_parse in platform/volume.h. */
#ifndef HR_PLATFORM_MOUNT_H
#define HR_PLATFORM_MOUNT_H

#include "platform/volume.h"

/* `mountinfo` is the whole text and is modified; *out points into it. `path` is absolute and resolved, `device` its
 * st_dev. */
bool hr__mount_find(struct hr_mount *out, char *mountinfo, const char *path, uint64_t device);

#endif
