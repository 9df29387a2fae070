/* SPDX-License-Identifier: ISC */
#include "cli/when.h"

#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/units.h"

/* Before 1970 as well: towards the past, not towards zero. */
static time_t seconds_of(int64_t wall_ns)
{
    return (time_t)(wall_ns / HR_NS_PER_S - (wall_ns % HR_NS_PER_S < 0));
}

static struct tm civil_of(int64_t ns)
{
    time_t seconds = seconds_of(ns);
    struct tm civil = {0};
    gmtime_r(&seconds, &civil);
    return civil;
}

char *cli_when_local(char out[CLI_WHEN_SIZE], int64_t wall_ns)
{
    time_t seconds = seconds_of(wall_ns);
    struct tm civil = {0};
    localtime_r(&seconds, &civil);
    snprintf(out, CLI_WHEN_SIZE, "%04d-%02d-%02d %02d:%02d", civil.tm_year + 1900, civil.tm_mon + 1, civil.tm_mday,
             civil.tm_hour, civil.tm_min);
    return out;
}

const char *cli_when_from(char out[CLI_WHEN_SIZE], int64_t wall_ns, int64_t now_wall_ns)
{
    static const size_t day_size = sizeof "2031-05-17" - 1;
    char now[CLI_WHEN_SIZE];
    bool is_same_day = memcmp(cli_when_local(out, wall_ns), cli_when_local(now, now_wall_ns), day_size) == 0;
    return is_same_day ? out + day_size + 1 : out;
}

char *cli_when_utc(char out[CLI_WHEN_SIZE], int64_t wall_ns)
{
    struct tm civil = civil_of(wall_ns);
    snprintf(out, CLI_WHEN_SIZE, "%04d-%02d-%02dT%02d:%02d:%02dZ", civil.tm_year + 1900, civil.tm_mon + 1,
             civil.tm_mday, civil.tm_hour, civil.tm_min, civil.tm_sec);
    return out;
}

char *cli_when_date(char out[CLI_WHEN_SIZE], int64_t local_ns)
{
    struct tm civil = civil_of(local_ns);
    snprintf(out, CLI_WHEN_SIZE, "%04d-%02d-%02d", civil.tm_year + 1900, civil.tm_mon + 1, civil.tm_mday);
    return out;
}

char *cli_when_clock(char out[CLI_WHEN_SIZE], int64_t local_ns)
{
    struct tm civil = civil_of(local_ns);
    snprintf(out, CLI_WHEN_SIZE, "%02d:%02d:%02d", civil.tm_hour, civil.tm_min, civil.tm_sec);
    return out;
}

char *cli_when_camera(char out[CLI_WHEN_SIZE], int64_t local_ns)
{
    char date[CLI_WHEN_SIZE], clock[CLI_WHEN_SIZE];
    int64_t fraction = local_ns % HR_NS_PER_S + (local_ns % HR_NS_PER_S < 0 ? HR_NS_PER_S : 0);
    int digits = 9;
    for (; digits > 3 && fraction % 1000 == 0; digits -= 3)
        fraction /= 1000;
    snprintf(out, CLI_WHEN_SIZE, "%.10sT%.8s.%0*" PRId64, cli_when_date(date, local_ns),
             cli_when_clock(clock, local_ns), digits, fraction);
    return out;
}

char *cli_when_camera_offset(char out[CLI_WHEN_SIZE], int64_t local_ns, int offset_minutes)
{
    char local[CLI_WHEN_SIZE];
    int minutes = offset_minutes < 0 ? -offset_minutes : offset_minutes;
    snprintf(out, CLI_WHEN_SIZE, "%.30s%c%02d:%02d", cli_when_camera(local, local_ns), offset_minutes < 0 ? '-' : '+',
             minutes / 60 % 100, minutes % 60);
    return out;
}
