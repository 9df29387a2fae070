/* SPDX-License-Identifier: ISC */
/* The cup final: four quarters of 15 minutes from 14:30, breaks of 2 minutes, half-time of 15. More plays than one
 * match holds are another match, three hours on. */
#ifndef DEMO_MATCH_H
#define DEMO_MATCH_H

#include <stdint.h>

/* The ground lies an hour east of UTC in May. */
enum { DEMO_OFFSET_MINUTES = 60 };

struct demo_play {
    uint64_t seed;  /* who does what in it */
    double start_s; /* local time, seconds since midnight of the day of the match */
};

/* Play `index` of `count`, spread evenly over the match with some chance. */
struct demo_play demo_match_play(uint64_t seed, unsigned index, unsigned count);
/* The middle of half-time of the first match, local seconds since midnight. */
double demo_match_half_time(void);
/* Midnight of `date` (YYYY-MM-DD) in local time, as seconds since 1970-01-01 on a local clock. Fails on anything else.
 */
int64_t demo_match_midnight(const char *date);

#endif
