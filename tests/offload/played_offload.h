/* SPDX-License-Identifier: ISC */
/* An offload of one card to places, played in steps of a tenth of a second by the rules of the engine, and what the
 * meter said of it meanwhile. */
#ifndef HR_TESTS_PLAYED_OFFLOAD_H
#define HR_TESTS_PLAYED_OFFLOAD_H

#include <headrace/forecast.h>

#include "offload/meter.h"

struct played_place {
    double write, read_back; /* MB/s alone */
    double together;         /* as in struct hr_forecast_place */
    double slows_at_mb;      /* after so much was written it writes at half the speed; 0: never */
    double stalls_at_s;      /* for 5 s nothing moves; 0: never */
};
struct played_offload {
    double total_mb, card; /* the latter: MB/s */
    size_t place_count;
    struct played_place places[2];
    const struct hr_forecast_job *expected; /* the meter's */
};

enum { PLAYED_STEPS_MAX = 40000 };
struct played_said {
    double seconds;                                           /* that it took */
    double low_s[PLAYED_STEPS_MAX], high_s[PLAYED_STEPS_MAX]; /* left, at each step; below 0: nothing was said */
    double written_mb[PLAYED_STEPS_MAX];                      /* in the first place */
    size_t steps;
};
void played_offload_run(struct played_said *said, const struct played_offload *offload);

/* How wrong the middle of the range was when this share of the time had passed, in shares of all the time it took. */
double played_error(const struct played_said *said, double share_done);
/* The farthest that the end was moved from one step to the next, in the same shares. */
double played_jump(const struct played_said *said);
/* The share of the time that had passed when the first place had written so much. */
double played_share_when_written(const struct played_said *said, double mb);
/* Of the steps, the share in which the range held the truth. */
double played_held(const struct played_said *said);

#endif
