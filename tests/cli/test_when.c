/* SPDX-License-Identifier: ISC */
/* Times as text. Seconds and dates are as date(1) of coreutils pairs them: date -u -d @SECONDS. */
#include "base/units.h"
#include "cli/when.h"
#include "suite.h"

#include <time.h>

START_TEST(writes_utc_as_rfc_3339_has_it)
{
    static const struct {
        int64_t ns;
        const char *text;
    } rows[] = {
        {0, "1970-01-01T00:00:00Z"},
        {1778944324 * HR_NS_PER_S, "2026-05-16T15:12:04Z"},
        {1778944324 * HR_NS_PER_S + 999999999, "2026-05-16T15:12:04Z"},
        {951782400 * HR_NS_PER_S, "2000-02-29T00:00:00Z"},
        {-1, "1969-12-31T23:59:59Z"},
        {-HR_NS_PER_S, "1969-12-31T23:59:59Z"},
        {INT64_MAX, "2262-04-11T23:47:16Z"},
        {INT64_MIN, "1677-09-21T00:12:43Z"},
    };
    char text[CLI_WHEN_SIZE];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_str_eq(cli_when_utc(text, rows[i].ns), rows[i].text);
}
END_TEST

START_TEST(shows_a_person_the_local_clock)
{
    char text[CLI_WHEN_SIZE];
    /* POSIX writes zones west of Greenwich positive: two hours east. */
    setenv("TZ", "NMT-2", 1);
    tzset();
    ck_assert_str_eq(cli_when_local(text, 1778944324 * HR_NS_PER_S), "2026-05-16 17:12");
    ck_assert_str_eq(cli_when_local(text, -1), "1970-01-01 01:59");
    const int64_t now_ns = 1778944324 * HR_NS_PER_S, hour_ns = 3600 * HR_NS_PER_S;
    ck_assert_str_eq(cli_when_from(text, now_ns + 6 * hour_ns, now_ns), "23:12");
    ck_assert_str_eq(cli_when_from(text, now_ns + 7 * hour_ns, now_ns), "2026-05-17 00:12");
}
END_TEST

START_TEST(tells_the_cameras_own_time_whatever_the_zone_here)
{
    static const struct {
        int64_t ns;
        const char *date, *clock, *camera;
    } rows[] = {
        {1778944324 * HR_NS_PER_S, "2026-05-16", "15:12:04", "2026-05-16T15:12:04.000"},
        {1778944324 * HR_NS_PER_S + 120000000, "2026-05-16", "15:12:04", "2026-05-16T15:12:04.120"},
        {1778944324 * HR_NS_PER_S + 120500000, "2026-05-16", "15:12:04", "2026-05-16T15:12:04.120500"},
        {1778944324 * HR_NS_PER_S + 1, "2026-05-16", "15:12:04", "2026-05-16T15:12:04.000000001"},
        {-1, "1969-12-31", "23:59:59", "1969-12-31T23:59:59.999999999"},
        {INT64_MIN, "1677-09-21", "00:12:43", "1677-09-21T00:12:43.145224192"},
    };
    char text[CLI_WHEN_SIZE];
    setenv("TZ", "NMT-2", 1);
    tzset();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        ck_assert_str_eq(cli_when_date(text, rows[i].ns), rows[i].date);
        ck_assert_str_eq(cli_when_clock(text, rows[i].ns), rows[i].clock);
        ck_assert_str_eq(cli_when_camera(text, rows[i].ns), rows[i].camera);
    }
    ck_assert_str_eq(cli_when_camera_offset(text, 0, 60), "1970-01-01T00:00:00.000+01:00");
    ck_assert_str_eq(cli_when_camera_offset(text, 0, -210), "1970-01-01T00:00:00.000-03:30");
    ck_assert_str_eq(cli_when_camera_offset(text, 0, 0), "1970-01-01T00:00:00.000+00:00");
}
END_TEST

HR_SUITE("cli/when", tells_the_cameras_own_time_whatever_the_zone_here, writes_utc_as_rfc_3339_has_it,
         shows_a_person_the_local_clock)
