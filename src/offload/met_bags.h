/* SPDX-License-Identifier: ISC */
/* The bags a look-up meets: each is asked about once, however many of the card's files it holds. */
#ifndef HR_OFFLOAD_MET_BAGS_H
#define HR_OFFLOAD_MET_BAGS_H

#include "offload/known.h"
#include "offload/mounted.h"
#include "platform/folder.h"

struct hr_met_bag {
    int64_t id;
    size_t drive;          /* its number in `drives` */
    bool is_connected;     /* its volume is mounted here and now, or another one of its drive */
    struct hr_folder data; /* its data folder; closed where it is not connected, or gone */
    uint8_t places;        /* bits of the places it stands in */
};

struct hr_met_bags {
    struct hr_met_bag *bags;
    size_t count, capacity;
    struct hr_mounted_list mounted; /* asked where a bag's volume is not found where it was */
};

void hr__met_bags_finish(struct hr_met_bags *met);
/* *out stays valid until the next call. What hr_ledger_bag says, HR_TOO_LARGE, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__met_bags_find(struct hr_met_bag **out, struct hr_met_bags *met, int64_t id,
                                             const struct hr_look_up *look_up, struct hr_drives *drives,
                                             struct hr_fault *fault);
/* Does the file still stand there in this size? Where the drive is not connected the record is believed. */
bool hr__met_bag_holds(const struct hr_met_bag *bag, const char *path, uint64_t size_bytes);

#endif
