/* SPDX-License-Identifier: ISC */
#include "sequence/names.h"

#include <stdlib.h>
#include <string.h>

#include "suite.h"

START_TEST(letters_go_on_past_z)
{
    static const struct {
        uint32_t body;
        const char *letters;
    } rows[] = {{0, "A"},     {1, "B"},
                {25, "Z"},    {26, "AA"},
                {27, "AB"},   {51, "AZ"},
                {52, "BA"},   {701, "ZZ"},
                {702, "AAA"}, {UINT32_MAX, "MWLQKWV"}}; /* as columns of a spreadsheet; the last computed */
    char letters[HR_LETTERS_SIZE];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_str_eq(hr__body_letters(letters, rows[i].body), rows[i].letters);
}
END_TEST

START_TEST(times_are_the_cameras_own)
{
    /* Each by `date -u -d @SECONDS`; TZ must change nothing. */
    static const struct {
        int64_t ns;
        const char *text, *name;
    } rows[] = {
        {1779546612345678901, "2026-05-23 14:30:12.345", "20260523-143012_A_2f"},
        {0, "1970-01-01 00:00:00.000", "19700101-000000_A_2f"},
        {-1, "1969-12-31 23:59:59.999", "19691231-235959_A_2f"},
        {951782400000000000, "2000-02-29 00:00:00.000", "20000229-000000_A_2f"},
        {INT64_MAX, "2262-04-11 23:47:16.854", "22620411-234716_A_2f"},
        {INT64_MIN, "1677-09-21 00:12:43.145", "16770921-001243_A_2f"},
    };
    char text[HR_LOCAL_TIME_SIZE];
    setenv("TZ", "Pacific/Auckland", 1);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        ck_assert_str_eq(hr__local_time(text, rows[i].ns), rows[i].text);
        char *name = hr__sequence_name(rows[i].ns, "A", 2, 1);
        ck_assert_str_eq(name, rows[i].name);
        free(name);
    }
}
END_TEST

START_TEST(a_name_that_is_taken_gets_a_number)
{
    char *name = hr__sequence_name(1779546612000000000, "left", 312, 3);
    ck_assert_str_eq(name, "20260523-143012_left_312f-3");
    free(name);
}
END_TEST

START_TEST(numbers_have_four_digits_or_what_they_need)
{
    static const struct {
        size_t last;
        unsigned width;
    } rows[] = {{0, 4}, {1, 4}, {9999, 4}, {10000, 5}, {99999, 5}, {100000, 6}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_uint_eq(hr__number_width(rows[i].last), rows[i].width);
    char *name = hr__numbered_name(7, 5, "NMA_0001.JPG");
    ck_assert_str_eq(name, "00007_NMA_0001.JPG");
    free(name);
}
END_TEST

HR_SUITE("sequence/names", letters_go_on_past_z, times_are_the_cameras_own, a_name_that_is_taken_gets_a_number,
         numbers_have_four_digits_or_what_they_need)
