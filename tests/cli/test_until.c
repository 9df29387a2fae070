/* SPDX-License-Identifier: ISC */
#include "cli/until.h"

#include <stdlib.h>
#include <time.h>

#include "base/units.h"
#include "suite.h"

/* 2031-05-17 13:32:10.5 in Northmere, whose clock is an hour ahead of UTC all year. Seconds computed by hand. */
static const int64_t now_ns = 1936787530500000000;

static void go_to(const char *zone)
{
    setenv("TZ", zone, 1);
    tzset();
}

START_TEST(takes_spans_and_times_of_day)
{
    static const struct {
        const char *typed;
        double seconds;
    } rows[] = {
        {"90s", 90},
        {"12min", 720},
        {"1h", 3600},
        {"0.5h", 1800},
        {"24h", 86400},
        {"13:42", 589.5},
        {"15:00", 5269.5},
        {"9:05", 70369.5} /* tomorrow */,
        {"13:32", 86389.5} /* this minute has begun: tomorrow */,
        {"00:00", 37669.5},
    };
    go_to("NMT-1");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double seconds = -1;
        ck_assert_msg(cli_until_parse(&seconds, rows[i].typed, now_ns), "%s", rows[i].typed);
        ck_assert_msg(seconds > rows[i].seconds - 1e-6 && seconds < rows[i].seconds + 1e-6, "%s is %f", rows[i].typed,
                      seconds);
    }
}
END_TEST

START_TEST(refuses_what_is_neither)
{
    static const char *const rows[] = {"",        "s",     "12",    "12 min", "-5min",    "0s",  "25h",
                                       "1441min", "24:00", "12:60", "12:5",   "123:05",   "12:", ":30",
                                       "1:2:3",   "12:3o", "1e3s",  "minute", "12minutes"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double seconds;
        ck_assert_msg(!cli_until_parse(&seconds, rows[i], now_ns), "%s", rows[i]);
    }
}
END_TEST

/* In the night before the last Sunday of March clocks go from 02:00 to 03:00: from 23:00 to 04:00 are four hours. */
START_TEST(counts_hours_that_pass_where_clocks_are_put_on)
{
    double seconds;
    go_to("NMT-1NMST-2,M3.5.0/2,M10.5.0/3");
    ck_assert(cli_until_parse(&seconds, "04:00", INT64_C(1932588000) * HR_NS_PER_S)); /* 2031-03-29 22:00 UTC */
    ck_assert_double_eq_tol(seconds, 4 * 3600.0, 1e-6);
}
END_TEST

HR_SUITE("cli/until", takes_spans_and_times_of_day, refuses_what_is_neither,
         counts_hours_that_pass_where_clocks_are_put_on)
