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
}
END_TEST

HR_SUITE("cli/when", writes_utc_as_rfc_3339_has_it, shows_a_person_the_local_clock)
