/* SPDX-License-Identifier: ISC */
#include "platform/clock.h"

#include <stdlib.h>

#include "base/units.h"
#include "suite.h"

START_TEST(never_runs_backwards)
{
    int64_t last = hr__clock_now_ns();
    for (int i = 0; i < 1000; i++) {
        int64_t now = hr__clock_now_ns();
        ck_assert_int_ge(now, last);
        last = now;
    }
    hr__clock_sleep_ns(2000000);
    ck_assert_int_ge(hr__clock_now_ns(), last + 2000000);
    hr__clock_sleep_ns(-1);
    ck_assert_int_gt(hr__clock_wall_ns(), 1700000000LL * HR_NS_PER_S);
}
END_TEST

START_TEST(gives_local_civil_time)
{
    /* Seconds of POSIX.1-2017 section 4.16; the offset is that of TZ, whose sign is reversed (section 8.3). */
    static const struct {
        const char *zone;
        int64_t ns;
        struct hr_civil civil;
    } rows[] = {
        {"UTC0", 0, {1970, 1, 1, 0, 0, 0, 0}},
        {"UTC0", -1, {1969, 12, 31, 23, 59, 59, 0}},
        {"UTC0", 951782400 * HR_NS_PER_S, {2000, 2, 29, 0, 0, 0, 0}},
        {"XXX-2", 951782400 * HR_NS_PER_S, {2000, 2, 29, 2, 0, 0, 120}},
        {"XXX3:30", 951782400 * HR_NS_PER_S, {2000, 2, 28, 20, 30, 0, -210}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        setenv("TZ", rows[i].zone, 1);
        struct hr_civil civil = hr__clock_civil(rows[i].ns), wanted = rows[i].civil;
        ck_assert_int_eq(civil.year, wanted.year);
        ck_assert_int_eq(civil.month, wanted.month);
        ck_assert_int_eq(civil.day, wanted.day);
        ck_assert_int_eq(civil.hour, wanted.hour);
        ck_assert_int_eq(civil.minute, wanted.minute);
        ck_assert_int_eq(civil.second, wanted.second);
        ck_assert_int_eq(civil.offset_minutes, wanted.offset_minutes);
        ck_assert_int_eq(hr__clock_civil_utc(rows[i].ns + wanted.offset_minutes * 60 * HR_NS_PER_S).hour, wanted.hour);
    }
}
END_TEST

HR_SUITE("platform/clock", never_runs_backwards, gives_local_civil_time)
