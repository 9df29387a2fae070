/* SPDX-License-Identifier: ISC */
/* Rates and time left from counters that only grow. Pure arithmetic on what it is shown. */
#ifndef HR_OFFLOAD_METER_H
#define HR_OFFLOAD_METER_H

#include <headrace/forecast.h>
#include <headrace/offload.h>

enum { HR_METER_MARKS = 65 };

/* The counters at one moment. */
struct hr_meter_mark {
    int64_t at_ns;
    uint64_t read_bytes;
    uint64_t written_bytes[HR_PLACES_MAX], read_back_bytes[HR_PLACES_MAX];
};

/* Half-second marks over the last half minute: long, so that time left does not jump when a drive stalls. Zeroed is
 * new. */
struct hr_meter {
    struct hr_meter_mark marks[HR_METER_MARKS]; /* a ring */
    size_t first, count;
    double end_s, width_s; /* as last estimated; end_s 0: not yet */
    int64_t estimated_ns;
};

void hr__meter_mark(struct hr_meter *meter, const struct hr_meter_mark *mark);
/* Sets the rates and the time left of `progress`, whose byte counts, totals and elapsed time are filled in. `expected`
 * is the forecast's job of the whole run, places in the same order; NULL: there was none. */
void hr__meter_estimate(struct hr_offload_progress *progress, struct hr_meter *meter,
                        const struct hr_forecast_job *expected);

#endif
