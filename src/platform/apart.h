/* SPDX-License-Identifier: ISC */
/* Do two volumes stand on different disks? Decided here alone: for places before a byte is written, for copies in the
 * ledger long afterwards. What cannot be shown to be different is to be counted as one.
 *
 * What is known of the disks below a volume becomes a text that outlives it: the identity of each disk, one a line,
 * sorted; "" for memory; HR_DISKS_UNKNOWN when a disk below could not be found or tells nothing of itself that lasts
 * (overlay, ZFS, a disk without serial number or partition table). */
#ifndef HR_PLATFORM_APART_H
#define HR_PLATFORM_APART_H

#include "platform/volume.h"

#define HR_DISKS_UNKNOWN "unknown"

enum hr_apart {
    HR_APART_UNKNOWN, /* it cannot be told */
    HR_APART_NO,      /* some disk carries both, or both are memory */
    HR_APART_YES      /* no disk carries both; memory is no disk */
};

/* The text of a volume. The caller frees; NULL: no memory. */
char *hr__disks_text(const struct hr_volume *volume);
enum hr_apart hr__disks_apart(const char *a, const char *b);

/* Of two volumes mounted now: as their texts say, and HR_APART_NO where they are one filesystem, or where the kernel
 * itself calls a disk below each by one name. */
enum hr_apart hr__volume_apart(const struct hr_volume *a, const struct hr_volume *b);

/* Do both reach this machine through one link? The slots of a reader do. So does what stands on one disk, or on none
 * that is known. */
bool hr__volume_shares_link(const struct hr_volume *a, const struct hr_volume *b);

#endif
