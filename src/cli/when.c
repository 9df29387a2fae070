/* SPDX-License-Identifier: ISC */
#include "cli/when.h"

#include <stdio.h>
#include <time.h>

#include "base/units.h"

/* Before 1970 as well: towards the past, not towards zero. */
static time_t seconds_of(int64_t wall_ns)
{
    return (time_t)(wall_ns / HR_NS_PER_S - (wall_ns % HR_NS_PER_S < 0));
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

char *cli_when_utc(char out[CLI_WHEN_SIZE], int64_t wall_ns)
{
    time_t seconds = seconds_of(wall_ns);
    struct tm civil = {0};
    gmtime_r(&seconds, &civil);
    snprintf(out, CLI_WHEN_SIZE, "%04d-%02d-%02dT%02d:%02d:%02dZ", civil.tm_year + 1900, civil.tm_mon + 1,
             civil.tm_mday, civil.tm_hour, civil.tm_min, civil.tm_sec);
    return out;
}
