/* SPDX-License-Identifier: ISC */
/* Can a place hold the card's names, each as its own? */
#ifndef HR_OFFLOAD_PREFLIGHT_NAMES_H
#define HR_OFFLOAD_PREFLIGHT_NAMES_H

#include "offload/offload_state.h"

/* Can the volume hold every component of `path` as it is? By the rules of its type alone. */
bool hr__name_fits(const struct hr_volume *volume, const char *path);

/* Adds the refusals and warnings that names call for. */
HR_MUST_USE enum hr_status hr__preflight_names(struct hr_offload *offload, size_t place, size_t card);

#endif
