/* SPDX-License-Identifier: ISC */
/* The way from a disk to the machine, as sysfs tells it: each link on it as negotiated and as its ends could.
 *
 * Facts alone; what a link carries is <headrace/devices.h>. */
#ifndef HR_PLATFORM_LINK_H
#define HR_PLATFORM_LINK_H

#include <stdbool.h>
#include <stddef.h>

#include "platform/card_class.h"
#include "platform/volume.h"

enum { HR_HOPS_MAX = 16 };

enum hr_hop_kind { HR_HOP_UNKNOWN, HR_HOP_USB, HR_HOP_PCIE, HR_HOP_SATA, HR_HOP_MMC, HR_HOP_VIRTUAL };

struct hr_hop {
    enum hr_hop_kind kind;
    double mbit_per_s;     /* USB: of all lanes; PCIe: of one; 0 unknown */
    unsigned lanes;        /* 0 unknown */
    double mbit_per_s_max; /* what the device or, of SATA, the port could: PCIe and USB of one lane; 0 unknown */
    unsigned lanes_max;
    bool max_is_likely;          /* mbit_per_s_max is read off the version the device speaks, not told by it */
    char port[HR_IDENTITY_SIZE]; /* what shares the hop has it too; of a path too long its end */
};

struct hr_way {
    struct hr_hop hops[HR_HOPS_MAX]; /* the disk's own link first, then hub by hub, bridge by bridge */
    size_t hop_count;
    struct hr_card_class card_class; /* bytes_per_s 0: no card, or its reader does not pass it on */
};

/* `disk` is a whole disk's name, "sdb". False when there is no such disk, or the system does not tell. */
bool hr__way_of(struct hr_way *out, const char *disk, const struct hr_system_roots *roots);

#endif
