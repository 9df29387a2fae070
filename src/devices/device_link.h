/* SPDX-License-Identifier: ISC */
/* From the facts of platform/link.h to links as people name them and what they carry. */
#ifndef HR_DEVICES_DEVICE_LINK_H
#define HR_DEVICES_DEVICE_LINK_H

#include <headrace/devices.h>

#include "platform/link.h"

double hr__hop_ceiling(const struct hr_hop *hop);
/* The lowest ceiling of the way; 0: none is known. */
double hr__way_ceiling(const struct hr_way *way);
/* "USB 10 Gb/s", "PCIe 3.0 x2"; "unknown link". */
void hr__hop_name(char out[64], const struct hr_hop *hop);

/* The disk's own link. Its identity is the port at which the way is narrowest; of ports alike the nearest to the
 * machine, for there most is shared. */
void hr__way_link(struct hr_link *out, const struct hr_way *way);

/* The same of a volume's disk, with the lowest ceiling on its way. What stands on several disks has no one link. */
void hr__volume_link(struct hr_link *out, const struct hr_volume *volume);
/* Of a volume on one disk. False: it stands on several, or the system does not tell. */
bool hr__volume_way(struct hr_way *out, const struct hr_volume *volume);
/* What the ledger calls the device below a volume: `disks`, the text of them (platform/apart.h); where they are not all
 * known, the volume's identity. Either's own memory; "": memory. */
const char *hr__volume_device(const struct hr_volume *volume, const char *disks);

#endif
