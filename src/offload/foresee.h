/* SPDX-License-Identifier: ISC */
/* How long an offload will take: the plan becomes a job of <headrace/forecast.h>. */
#ifndef HR_OFFLOAD_FORESEE_H
#define HR_OFFLOAD_FORESEE_H

#include "offload/offload_state.h"

/* Fills offload->foreseen; the plan is made. HR_NOMEM. */
HR_MUST_USE enum hr_status hr__foresee(struct hr_offload *offload, struct hr_fault *fault);

/* What the ledger remembers a volume's speeds by: its disks, or where these are not known itself. `volume` and `disks`
 * are borrowed. */
struct hr_past_device hr__foresee_device(const struct hr_volume *volume, const char *disks);

/* What would be faster than what holds it up. */
void hr__foresee_changes(struct hr_offload *offload);

/* The devices of cards and places, sorted, one a line, and "reread" where cards are read twice, "xxh128" where no
 * SHA-256 is made. The caller frees; NULL: no memory. */
char *hr__foresee_pair(const struct hr_offload *offload);

#endif
