/* SPDX-License-Identifier: ISC */
#include "demo_match.h"

#include <stdio.h>
#include <time.h>

#include "demo_fail.h"
#include "demo_random.h"

enum {
    KICK_OFF_S = 14 * 3600 + 30 * 60,
    QUARTER_S = 900,
    BREAK_S = 120,
    HALF_TIME_S = 900,
    MATCH_PLAYS = 150,
    NEXT_MATCH_S = 3 * 3600
};

struct demo_play demo_match_play(uint64_t seed, unsigned index, unsigned count)
{
    static const int paused_s[] = {0, BREAK_S, BREAK_S + HALF_TIME_S, 2 * BREAK_S + HALF_TIME_S};
    unsigned match = index / MATCH_PLAYS, first = match * MATCH_PLAYS;
    unsigned in_match = count - first < MATCH_PLAYS ? count - first : MATCH_PLAYS;
    struct demo_random random = demo_random_of(seed, "play", index);
    double clock_s = (index - first + demo_random_range(&random, 0.1, 0.5)) * 4 * QUARTER_S / in_match;
    unsigned quarter = (unsigned)(clock_s / QUARTER_S);
    return (struct demo_play){.seed = demo_random_next(&random),
                              .start_s = KICK_OFF_S + match * (double)NEXT_MATCH_S + clock_s + paused_s[quarter]};
}

double demo_match_half_time(void)
{
    return KICK_OFF_S + 2 * QUARTER_S + BREAK_S + HALF_TIME_S / 2.0;
}

int64_t demo_match_midnight(const char *date)
{
    struct tm day = {0};
    int end = 0;
    if (sscanf(date, "%4d-%2d-%2d%n", &day.tm_year, &day.tm_mon, &day.tm_mday, &end) != 3 || date[end])
        demo_fail("--date takes YYYY-MM-DD, not '%s'", date);
    struct tm asked = {.tm_year = day.tm_year - 1900, .tm_mon = day.tm_mon - 1, .tm_mday = day.tm_mday};
    day = asked;
    time_t midnight = timegm(&day);
    if (day.tm_mon != asked.tm_mon || day.tm_mday != asked.tm_mday)
        demo_fail("there is no day '%s'", date);
    return midnight;
}
