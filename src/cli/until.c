/* SPDX-License-Identifier: ISC */
#include "cli/until.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/checked.h"
#include "base/units.h"

enum { DAY_S = 24 * 3600 };

static bool parse_span(double *seconds, const char *typed)
{
    static const struct {
        const char *name;
        double seconds;
    } units[] = {{"s", 1}, {"min", 60}, {"h", 3600}};
    char number[24];
    size_t size = strspn(typed, "0123456789.");
    if (size == 0 || size >= sizeof number)
        return false;
    snprintf(number, sizeof number, "%.*s", (int)size, typed);
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strcmp(typed + size, units[i].name) == 0 && hr__parse_decimal(seconds, number, DAY_S)) {
            *seconds *= units[i].seconds;
            return *seconds > 0 && *seconds <= DAY_S;
        }
    return false;
}

/* "15:42" or "9:05". */
static bool parse_clock(uint64_t *hour, uint64_t *minute, const char *typed)
{
    char hours[3];
    size_t size = strcspn(typed, ":");
    if (size == 0 || size >= sizeof hours || strlen(typed) != size + sizeof ":42" - 1)
        return false;
    snprintf(hours, sizeof hours, "%.*s", (int)size, typed);
    return hr__parse_u64(hour, hours, 23) && hr__parse_u64(minute, typed + size + 1, 59);
}

/* The civil day and time first, then seconds: a day on which clocks are put on or back is not 24 hours long. */
static double seconds_until(uint64_t hour, uint64_t minute, int64_t now_wall_ns)
{
    time_t now = (time_t)(now_wall_ns / HR_NS_PER_S), then;
    struct tm civil = {0};
    localtime_r(&now, &civil);
    bool is_past = (uint64_t)civil.tm_hour * 60 + (uint64_t)civil.tm_min >= hour * 60 + minute;
    civil.tm_mday += is_past;
    civil.tm_hour = (int)hour;
    civil.tm_min = (int)minute;
    civil.tm_sec = 0;
    civil.tm_isdst = -1;
    then = mktime(&civil);
    return (double)(then - now) - (double)(now_wall_ns % HR_NS_PER_S) / HR_NS_PER_S;
}

bool cli_until_parse(double *seconds, const char *typed, int64_t now_wall_ns)
{
    uint64_t hour, minute;
    if (parse_span(seconds, typed))
        return true;
    if (!parse_clock(&hour, &minute, typed))
        return false;
    *seconds = seconds_until(hour, minute, now_wall_ns);
    return *seconds > 0;
}

int64_t cli_until_now_ns(void)
{
    struct timespec now = {0};
    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * HR_NS_PER_S + now.tv_nsec;
}
