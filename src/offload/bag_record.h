/* SPDX-License-Identifier: ISC */
/* A bag as the ledger knows it: where it stands, told so that it is found again when its drive is mounted elsewhere. */
#ifndef HR_OFFLOAD_BAG_RECORD_H
#define HR_OFFLOAD_BAG_RECORD_H

#include <headrace/ledger.h>

#include "platform/volume.h"

/* `path` relative to the volume's mount point; points into `path`. "" for the mount point itself. */
const char *hr__path_on_volume(const struct hr_volume *volume, const char *path);

/* Notes the bag at absolute `bag_path` and gives its id. */
HR_MUST_USE enum hr_status hr__bag_record(int64_t *id, struct hr_ledger *ledger, const char *bag_path,
                                          const char *card_identity, const char *card_name, const char *job,
                                          const struct hr_volume *volume, struct hr_fault *fault);

#endif
