/* SPDX-License-Identifier: ISC */
/* The drives copies stand on, numbered from 0 within one question. Deliveries whose disks are the same are on one
 * drive; whether two drives differ is platform/apart.h: a mirror and one of its halves are two drives here, and never
 * count as two. */
#ifndef HR_OFFLOAD_DRIVES_H
#define HR_OFFLOAD_DRIVES_H

#include <headrace/offload.h>

#include "platform/apart.h"

/* Bits of a word name drives, so no question knows more; a workstation that does is told so. */
enum { HR_DRIVES_MAX = 64 };

struct hr_drives {
    struct hr_safety_drive *drives;
    size_t count, capacity;
};

void hr__drives_finish(struct hr_drives *drives);
/* The number of the drive with these disks (hr__disks_text; "" is memory, which never counts); added when new.
 * HR_TOO_LARGE, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__drives_number(size_t *number, struct hr_drives *drives, const char *disks,
                                             const char *name, struct hr_fault *fault);
/* Of the drives named by `bits`, how many count and can each be shown to differ from all the others? At least this
 * many; 0 and 1 are exact. */
size_t hr__drives_different(const struct hr_safety_drive *drives, size_t count, uint64_t bits);

#endif
