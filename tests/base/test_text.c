/* SPDX-License-Identifier: ISC */
#include "base/csv.h"
#include "base/text.h"
#include "suite.h"

#include <stdlib.h>
#include <stdio.h>
#include <string.h>

START_TEST(holds_what_was_appended)
{
    struct hr_text text;
    hr__text_init(&text, 100);
    ck_assert_str_eq(text.bytes, "");
    hr__text_append(&text, "four");
    hr__text_append_bytes(&text, "\0!", 2);
    hr__text_printf(&text, " %d and %s", 7, "more");
    hr__text_append_name(&text, "\n", 1);
    ck_assert_uint_eq(text.size, 20);
    ck_assert_mem_eq(text.bytes, "four\0! 7 and more%0A", 21);
    ck_assert(!text.broken);
    hr__text_finish(&text);
    ck_assert_str_eq(text.bytes, "");
}
END_TEST

START_TEST(breaks_at_its_ceiling_and_stays_as_it_was)
{
    struct hr_text text;
    hr__text_init(&text, 5);
    hr__text_append(&text, "12345");
    ck_assert(!text.broken);
    hr__text_printf(&text, "%d", 6);
    ck_assert(text.broken);
    ck_assert_str_eq(text.bytes, "12345");
    hr__text_append(&text, "");
    ck_assert(text.broken);
    hr__text_clear(&text);
    hr__text_append(&text, "abc");
    ck_assert(!text.broken);
    ck_assert_str_eq(text.bytes, "abc");
    hr__text_append_name(&text, "%", 1);
    ck_assert(text.broken);
    ck_assert_ptr_null(hr__text_take(&text));
    ck_assert_str_eq(text.bytes, "");
    hr__text_finish(&text);
}
END_TEST

START_TEST(hands_its_bytes_over)
{
    struct hr_text text;
    hr__text_init(&text, 1000);
    char *nothing = hr__text_take(&text);
    ck_assert_str_eq(nothing, "");
    hr__text_append(&text, "kept");
    char *kept = hr__text_take(&text);
    ck_assert_str_eq(kept, "kept");
    ck_assert_uint_eq(text.size, 0);
    hr__text_append(&text, "again");
    ck_assert_str_eq(text.bytes, "again");
    hr__text_finish(&text);
    free(nothing);
    free(kept);
}
END_TEST

START_TEST(quotes_as_rfc_4180_says)
{
    /* RFC 4180 section 2, rules 5 to 7. */
    const char *const fields[] = {"aaa", "", "b,b", "c\"c", "\"", "d d"};
    struct hr_text text;
    hr__text_init(&text, 1000);
    hr__csv_append_row(&text, fields, 6);
    ck_assert_str_eq(text.bytes, "aaa,,\"b,b\",\"c\"\"c\",\"\"\"\",d d\n");
    hr__text_finish(&text);
}
END_TEST

START_TEST(splits_every_row_it_wrote)
{
    static const char *const rows[][3] = {
        {"a", "b", "c"}, {"", "", ""}, {",", "\"", "\",\""}, {"\"\"", " \" ", ",,"}, {"100%0A", "x\"", "\"y"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct hr_text text;
        hr__text_init(&text, 1000);
        hr__csv_append_row(&text, rows[i], 3);
        text.bytes[text.size - 1] = '\0';
        char *fields[3];
        ck_assert(hr__csv_split_row(text.bytes, fields, 3));
        for (size_t k = 0; k < 3; k++)
            ck_assert_str_eq(fields[k], rows[i][k]);
        hr__text_finish(&text);
    }
}
END_TEST

START_TEST(refuses_torn_rows)
{
    static const char *const rows[] = {"a",        "a,b,c", "\"a,b",     "a,\"b",     "a,b\"",
                                       "\"a\"x,b", "",      "a,\"b\"\"", "\"a\"\"b\""};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char row[32], *fields[2];
        snprintf(row, sizeof row, "%s", rows[i]);
        ck_assert_msg(!hr__csv_split_row(row, fields, 2), "%s", rows[i]);
    }
}
END_TEST

HR_SUITE("base/text", holds_what_was_appended, breaks_at_its_ceiling_and_stays_as_it_was, hands_its_bytes_over,
         quotes_as_rfc_4180_says, splits_every_row_it_wrote, refuses_torn_rows)
