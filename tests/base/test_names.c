/* SPDX-License-Identifier: ISC */
#include <headrace/cancel.h>
#include <headrace/name.h>

#include "base/path.h"
#include "base/utf8.h"
#include "suite.h"

#include <stdlib.h>
#include <string.h>

START_TEST(joins_paths_without_doubling_a_slash)
{
    static const char *const rows[][3] = {
        {"a", "b/c", "a/b/c"}, {"a/", "b", "a/b"}, {"", "b", "b"}, {"a", "", "a"}, {"/", "b", "/b"}, {"", "", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *joined = hr__path_join(rows[i][0], rows[i][1]);
        ck_assert_str_eq(joined, rows[i][2]);
        free(joined);
    }
}
END_TEST

START_TEST(takes_paths_apart)
{
    static const struct {
        const char *path, *last;
        size_t folder;
    } rows[] = {
        {"DCIM/100/A.JPG", "A.JPG", 8}, {"A", "A", 0}, {"/A.b.c", "A.b.c", 0}, {"a.b/c", "c", 3},
        {"a/.part", ".part", 1},        {"a/", "", 1}, {"a.", "a.", 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        ck_assert_str_eq(hr__path_last(rows[i].path), rows[i].last);
        ck_assert_uint_eq(hr__path_folder_length(rows[i].path), rows[i].folder);
    }
}
END_TEST

START_TEST(lets_no_path_out_of_its_folder)
{
    static const char *const inside[] = {"a", "a/b", "...", "a/..b", ".a", "a\nb", "a/.../b"};
    static const char *const outside[] = {"",     "/",      "/a",    ".",    "..", "../a",
                                          "a/..", "a/../b", "a/./b", "a//b", "a/", "./a"};
    for (size_t i = 0; i < sizeof inside / sizeof *inside; i++)
        ck_assert_msg(hr__path_is_inside(inside[i]), "%s", inside[i]);
    for (size_t i = 0; i < sizeof outside / sizeof *outside; i++)
        ck_assert_msg(!hr__path_is_inside(outside[i]), "%s", outside[i]);
}
END_TEST

START_TEST(knows_which_path_contains_which)
{
    ck_assert(hr__path_contains("/a", "/a"));
    ck_assert(hr__path_contains("/a", "/a/b"));
    ck_assert(hr__path_contains("/", "/a"));
    ck_assert(hr__path_contains("/", "/"));
    ck_assert(!hr__path_contains("/a", "/ab"));
    ck_assert(!hr__path_contains("/a/b", "/a"));
}
END_TEST

START_TEST(tells_well_formed_utf8)
{
    /* The borders of the table in RFC 3629 section 4 and the forbidden forms of its sections 3 and 10. */
    static const struct {
        const char *bytes;
        size_t length;
    } rows[] = {
        {"A", 1},
        {"\x7F", 1},
        {"\xC2\x80", 2},
        {"\xDF\xBF", 2},
        {"\xE0\xA0\x80", 3},
        {"\xED\x9F\xBF", 3},
        {"\xEE\x80\x80", 3},
        {"\xEF\xBF\xBF", 3},
        {"\xF0\x90\x80\x80", 4},
        {"\xF4\x8F\xBF\xBF", 4},
        {"\x80", 0},
        {"\xC0\x80", 0},
        {"\xC1\xBF", 0},
        {"\xE0\x9F\xBF", 0},
        {"\xED\xA0\x80", 0},
        {"\xF0\x8F\xBF\xBF", 0},
        {"\xF4\x90\x80\x80", 0},
        {"\xF5\x80\x80\x80", 0},
        {"\xFF", 0},
        {"\xC2", 0},
        {"\xE2\x82", 0},
        {"\xE2\x82\x41", 0},
        {"\xF0\x9F\x98\x41", 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        size_t size = strlen(rows[i].bytes);
        ck_assert_msg(hr__utf8_length(rows[i].bytes, size) == rows[i].length, "row %zu", i);
        ck_assert(hr__utf8_is_valid(rows[i].bytes, size) == (rows[i].length > 0));
    }
    ck_assert(hr__utf8_is_valid("", 0));
    ck_assert(!hr__utf8_is_valid("a\xC2", 2));
}
END_TEST

START_TEST(escapes_what_text_cannot_carry)
{
    static const struct {
        const char *name, *escaped;
    } rows[] = {
        {"IMG_0001.JPG", "IMG_0001.JPG"},
        {"100%", "100%25"},
        {"a\r\nb", "a%0D%0Ab"},
        {"\x7F\x1B[m", "%7F%1B[m"},
        {"\xC2\x9B"
         "2J",
         "%C2%9B2J"},
        {"\xC2\xA0", "\xC2\xA0"},
        {"\xC3\xA9\xE9", "\xC3\xA9%E9"},
        {"\xE2\x82", "%E2%82"},
        {" \"'\\", " \"'\\"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char escaped[64];
        size_t length = hr_escape_name(escaped, sizeof escaped, rows[i].name, strlen(rows[i].name));
        ck_assert_str_eq(escaped, rows[i].escaped);
        ck_assert_uint_eq(length, strlen(rows[i].escaped));
    }
}
END_TEST

START_TEST(gives_every_byte_back)
{
    char name[512], escaped[3 * sizeof name + 1], back[sizeof escaped];
    for (size_t i = 0; i < sizeof name; i++)
        name[i] = (char)(i * 181 + i / 7);
    ck_assert_uint_le(hr_escape_name(escaped, sizeof escaped, name, sizeof name), 3 * sizeof name);
    ck_assert(hr__utf8_is_valid(escaped, strlen(escaped)));
    size_t size = 0;
    ck_assert_int_eq(hr_unescape_name(back, &size, escaped), HR_OK);
    ck_assert_uint_eq(size, sizeof name);
    ck_assert_mem_eq(back, name, size);
    ck_assert_int_eq(hr_unescape_name(escaped, &size, escaped), HR_OK);
    ck_assert_mem_eq(escaped, name, size);
}
END_TEST

START_TEST(cuts_a_name_between_characters_and_goes_on_counting)
{
    char out[8];
    ck_assert_uint_eq(hr_escape_name(out, 5, "abc\nd", 5), 7);
    ck_assert_str_eq(out, "abc");
    ck_assert_uint_eq(hr_escape_name(out, 4,
                                     "ab\xC3\xA9"
                                     "c",
                                     5),
                      5);
    ck_assert_str_eq(out, "ab");
    ck_assert_uint_eq(hr_escape_name(out, 1, "ab", 2), 2);
    ck_assert_str_eq(out, "");
}
END_TEST

START_TEST(refuses_torn_escapes)
{
    static const char *const rows[] = {"%", "a%4", "%4", "%G0", "%0g", "%%41", "% 41"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char out[8];
        size_t size = 0;
        ck_assert_msg(hr_unescape_name(out, &size, rows[i]) == HR_MALFORMED, "%s", rows[i]);
    }
}
END_TEST

START_TEST(cancels_once_and_for_all)
{
    struct hr_cancel *cancel = hr_cancel_create();
    ck_assert(!hr_cancel_requested(cancel));
    hr_cancel_request(cancel);
    ck_assert(hr_cancel_requested(cancel));
    hr_cancel_destroy(cancel);
    ck_assert(!hr_cancel_requested(NULL));
    hr_cancel_request(NULL);
    hr_cancel_destroy(NULL);
}
END_TEST

HR_SUITE("base/names", joins_paths_without_doubling_a_slash, takes_paths_apart, lets_no_path_out_of_its_folder,
         knows_which_path_contains_which, tells_well_formed_utf8, escapes_what_text_cannot_carry, gives_every_byte_back,
         cuts_a_name_between_characters_and_goes_on_counting, refuses_torn_escapes, cancels_once_and_for_all)
