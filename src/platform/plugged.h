/* SPDX-License-Identifier: ISC */
/* Every disk, card and reader of cards that is plugged in. */
#ifndef HR_PLATFORM_PLUGGED_H
#define HR_PLATFORM_PLUGGED_H

#include <headrace/status.h>

#include "platform/link.h"
#include "platform/volume.h"

enum { HR_PLUGGED_MAX = 1024 };

struct hr_plugged {
    char name[64]; /* "sdb" */
    char
        identity[HR_IDENTITY_SIZE]; /* as of a disk of a volume; "" when it tells none, or none is mounted that would */
    char model[128];                /* its own word, any bytes; "" */
    char *mount_points;             /* one a line; owned, never NULL */
    uint64_t size_bytes;            /* 0: a reader without a card */
    bool is_removable;
    bool has_heads;     /* by its own word */
    bool is_rotational; /* by that or, where it has none, the kernel's */
    struct hr_way way;
};

/* Whole disks by name: not their partitions, not what is made of disks, of virtual ones those alone that are mounted.
 * The caller releases with hr__plugged_free. HR_UNSUPPORTED where the system does not list them, HR_TOO_LARGE past
 * HR_PLUGGED_MAX, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__plugged_list(struct hr_plugged **out, size_t *count, const struct hr_system_roots *roots,
                                            struct hr_fault *fault);
/* Is there a device with the filesystem of this identity ("uuid:..."), mounted or not? False where that is not told. */
bool hr__plugged_has_volume(const char *identity, const struct hr_system_roots *roots);
void hr__plugged_free(struct hr_plugged *disks, size_t count);

#endif
