/* SPDX-License-Identifier: ISC */
/* Which places would be lost together, and together with a card? */
#ifndef HR_OFFLOAD_PREFLIGHT_DRIVES_H
#define HR_OFFLOAD_PREFLIGHT_DRIVES_H

#include "offload/offload_state.h"

/* Numbers the places by drive (struct hr_plan_place says what the numbers mean) and adds what that calls for: one
 * refusal, or with --same-device one warning, a drive, and one for all places that do not show theirs; one warning for
 * all places in memory. */
HR_MUST_USE enum hr_status hr__preflight_drives(struct hr_offload *offload);

#endif
