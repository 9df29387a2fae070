/* SPDX-License-Identifier: ISC */
#include "platform/clock.h"

#include <errno.h>
#include <time.h>

#include "base/units.h"
#include "platform/thread.h"

static int64_t read_clock(clockid_t clock)
{
    struct timespec now = {0};
    clock_gettime(clock, &now);
    return (int64_t)now.tv_sec * HR_NS_PER_S + now.tv_nsec;
}

int64_t hr__clock_now_ns(void)
{
    return read_clock(CLOCK_MONOTONIC);
}

int64_t hr__clock_wall_ns(void)
{
    return read_clock(CLOCK_REALTIME);
}

void hr__clock_sleep_ns(int64_t ns)
{
    struct timespec left = {.tv_sec = (time_t)(ns / HR_NS_PER_S), .tv_nsec = (long)(ns % HR_NS_PER_S)};
    while (ns > 0 && nanosleep(&left, &left) != 0 && errno == EINTR)
        continue;
}

static struct hr_civil civil_of(struct tm *(*convert)(const time_t *, struct tm *), int64_t wall_ns)
{
    time_t s = (time_t)(wall_ns / HR_NS_PER_S) - (wall_ns % HR_NS_PER_S < 0);
    struct tm local = {0};
    convert(&s, &local);
    return (struct hr_civil){
        .year = local.tm_year + 1900,
        .month = local.tm_mon + 1,
        .day = local.tm_mday,
        .hour = local.tm_hour,
        .minute = local.tm_min,
        .second = local.tm_sec,
        .offset_minutes = (int)(local.tm_gmtoff / 60),
    };
}

/* Several threads may ask. C libraries take a lock of their own here, but one that checkers of threads do not see. */
struct hr_civil hr__clock_civil(int64_t wall_ns)
{
    static struct hr_lock zone = HR_LOCK_READY;
    hr__lock_take(&zone);
    tzset(); /* localtime_r need not ask the environment by itself */
    struct hr_civil civil = civil_of(localtime_r, wall_ns);
    hr__lock_drop(&zone);
    return civil;
}

struct hr_civil hr__clock_civil_utc(int64_t wall_ns)
{
    return civil_of(gmtime_r, wall_ns);
}
