/* SPDX-License-Identifier: ISC */
/* The time left of a running offload: what is seen, by stages, and more and more of that in place of what was expected.
 *
 * All cards and places go on until all is written; reading back goes on beside, as fast as it was seen to; what it
 * leaves is read back after, by a place alone. */
#ifndef HR_OFFLOAD_TIME_LEFT_H
#define HR_OFFLOAD_TIME_LEFT_H

#include <headrace/forecast.h>
#include <headrace/offload.h>

/* Bytes a second; 0: not seen. */
struct hr_seen_rates {
    double read;
    struct {
        double write, read_back; /* on the whole */
        double busy_read_back;   /* while it read back at all */
        double alone_read_back;  /* while it read back and wrote nothing */
    } places[HR_PLACES_MAX];
};

/* False where neither what is seen nor what is expected (NULL: nothing is) tells. */
bool hr__time_left(struct hr_forecast_range *out, const struct hr_offload_progress *progress,
                   const struct hr_seen_rates *seen, const struct hr_forecast_job *expected);

#endif
