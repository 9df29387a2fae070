/* SPDX-License-Identifier: ISC */
/* POSIX tells nothing of disks. */
#include "platform/link.h"

bool hr__way_of(struct hr_way *out, const char *disk, const struct hr_system_roots *roots)
{
    (void)out;
    (void)disk;
    (void)roots;
    return false;
}
