/* SPDX-License-Identifier: ISC */
/* One monotonic clock for everything that is measured; wall time only for what a person or a file will read. */
#ifndef HR_PLATFORM_CLOCK_H
#define HR_PLATFORM_CLOCK_H

#include <stdint.h>

/* Only differences mean anything. Never fails. */
int64_t hr__clock_now_ns(void);
/* Nanoseconds since 1970-01-01 UTC. */
int64_t hr__clock_wall_ns(void);
void hr__clock_sleep_ns(int64_t ns);

struct hr_civil {
    int year, month, day, hour, minute, second; /* month and day from 1 */
    int offset_minutes;                         /* east of UTC */
};

/* The local civil time of a wall time. */
struct hr_civil hr__clock_civil(int64_t wall_ns);
/* The same in UTC; also for a camera's own clock, whose zone is not ours to apply. */
struct hr_civil hr__clock_civil_utc(int64_t wall_ns);

#endif
