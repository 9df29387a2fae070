/* SPDX-License-Identifier: ISC */
/* The drives copies stand on, numbered from 0 within one question. Two deliveries are on one drive when some whole disk
 * carries both. */
#ifndef HR_OFFLOAD_DRIVES_H
#define HR_OFFLOAD_DRIVES_H

#include <headrace/offload.h>

#include "platform/volume.h"

/* Bits of a word name drives, so no question knows more; a workstation that does is told so. */
enum { HR_DRIVES_MAX = 64 };

struct hr_drives {
    struct hr_safety_drive *drives;
    size_t count, capacity;
};

void hr__drives_finish(struct hr_drives *drives);
/* The number of the drive with these disks (identities, one a line; "" is memory, which never counts); added when new.
 * HR_TOO_LARGE, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__drives_number(size_t *number, struct hr_drives *drives, const char *disks,
                                             const char *name, struct hr_fault *fault);
/* The identities of the disks below a volume, one a line, sorted; "" for memory. The caller frees; NULL: no memory. */
char *hr__disks_text(const struct hr_volume *volume);
/* Do two such texts share a line? */
bool hr__disks_overlap(const char *a, const char *b);

#endif
