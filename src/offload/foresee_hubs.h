/* SPDX-License-Identifier: ISC */
/* What cards and places have in common on their ways to the machine: hubs and bridges, which share what they carry. */
#ifndef HR_OFFLOAD_FORESEE_HUBS_H
#define HR_OFFLOAD_FORESEE_HUBS_H

#include <headrace/forecast.h>

#include "platform/link.h"

/* The way of what is on a link of the job. */
struct hr_link_way {
    unsigned link;
    struct hr_way way;
};

/* Adds a link to the job, from `first_number` on, for each hop that devices on different links share, and hangs theirs
 * on it. Of hops that the same devices share, one behind the other, there is one link, as narrow as the narrowest. A
 * link that two ways name has the first. */
void hr__foresee_hubs(struct hr_forecast_job *job, const struct hr_link_way *ways, size_t count, unsigned first_number);

#endif
