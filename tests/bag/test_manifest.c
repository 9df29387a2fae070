/* SPDX-License-Identifier: ISC */
/* Manifest lines: RFC 8493 section 2.1.3, and what the checksum tools of coreutils 9.1 read and write. */
#include "bag/manifest.h"

#include <stdio.h>
#include <string.h>

#include "suite.h"

static const char abc_md5[] = "900150983cd24fb0d6963f7d28e17f72"; /* RFC 1321 A.5 */

/* Path, and how it stands in a manifest. */
static const char *const paths[][2] = {
    {"data/DCIM/100NORTH/NM_A0001.JPG", "data/DCIM/100NORTH/NM_A0001.JPG"},
    {"data/two\nlines", "data/two%0Alines"},
    {"data/\r\n", "data/%0D%0A"},
    {"data/100%.txt", "data/100%25.txt"},
    {"data/%0A", "data/%250A"},
    {"data/a \"quoted\" name \\ with, all", "data/a \"quoted\" name \\ with, all"},
    {"data/\xff\xfe not UTF-8", "data/\xff\xfe not UTF-8"},
    {"data/ends in blanks  ", "data/ends in blanks  "},
    {"data/*asterisk", "data/*asterisk"},
};

START_TEST(writes_paths_as_the_standard_has_them_and_reads_them_back)
{
    struct hr_digest digest;
    ck_assert(hr_digest_from_hex(&digest, HR_DIGEST_MD5, abc_md5, strlen(abc_md5)));
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        struct hr_text text;
        struct hr_manifest_line line;
        hr__text_init(&text, 4096);
        hr__manifest_append_line(&text, &digest, paths[i][0]);
        ck_assert_int_eq(strncmp(text.bytes, abc_md5, 32), 0);
        ck_assert_int_eq(strncmp(text.bytes + 32, "  ", 2), 0);
        ck_assert_int_eq(strncmp(text.bytes + 34, paths[i][1], strlen(paths[i][1])), 0);
        ck_assert_str_eq(text.bytes + 34 + strlen(paths[i][1]), "\n");
        char *at = text.bytes;
        ck_assert_int_eq(hr__manifest_next(&line, &at, HR_DIGEST_MD5, true), HR_MANIFEST_LINE);
        ck_assert_str_eq(line.path, paths[i][0]);
        ck_assert_str_eq(line.hex, abc_md5);
        ck_assert(!line.has_asterisk && !line.has_dot && !line.has_stray_percent);
        ck_assert_int_eq(hr__manifest_next(&line, &at, HR_DIGEST_MD5, true), HR_MANIFEST_END);
        hr__text_finish(&text);
    }
}
END_TEST

/* A line as others write it, and the path in it; NULL: no line. */
static const struct {
    const char *text, *path;
    bool is_v1, has_asterisk, has_dot, has_stray_percent;
} lines[] = {
    {"900150983cd24fb0d6963f7d28e17f72 data/a", "data/a", .is_v1 = true},
    {"900150983CD24FB0D6963F7D28E17F72\tdata/a b\r\n", "data/a b", .is_v1 = true},
    {"900150983cd24fb0d6963f7d28e17f72 *data/a\r", "data/a", .is_v1 = true, .has_asterisk = true},
    {"900150983cd24fb0d6963f7d28e17f72  ./data/a\n", "data/a", .is_v1 = true, .has_dot = true},
    {"900150983cd24fb0d6963f7d28e17f72  data/%7Ea\n", "data/%7Ea", .is_v1 = true, .has_stray_percent = true},
    {"900150983cd24fb0d6963f7d28e17f72  data/%0a%0d%25\n", "data/\n\r%", .is_v1 = true},
    /* Before 1.0 the % stood for itself: conformance suite 9ab4870, v0.97/valid/bag-with-encoded-names. */
    {"900150983cd24fb0d6963f7d28e17f72  data/%7Edir2/%25\n", "data/%7Edir2/%25", .is_v1 = false},
    {"900150983cd24fb0d6963f7d28e17f72  data/%0A\n", "data/\n", .is_v1 = false},
    {"900150983cd24fb0d6963f7d28e17f72\n", NULL, .is_v1 = true},
    {"900150983cd24fb0d6963f7d28e17f72  \n", NULL, .is_v1 = true},
    {"900150983cd24fb0d6963f7d28e17f7  data/a\n", NULL, .is_v1 = true},
    {"900150983cd24fb0d6963f7d28e17f7g  data/a\n", NULL, .is_v1 = true},
    {"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  data/a\n", NULL, .is_v1 = true},
    /* As sha256sum and its kin write a name that holds a backslash: no line of the standard. */
    {"\\900150983cd24fb0d6963f7d28e17f72  data/a\\\\b\n", NULL, .is_v1 = true},
    {"# a comment\n", NULL, .is_v1 = true},
};

START_TEST(reads_lines_of_others_and_marks_what_is_odd)
{
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        char text[256], *at = text;
        struct hr_manifest_line line;
        snprintf(text, sizeof text, "%s", lines[i].text);
        enum hr_manifest_step step = hr__manifest_next(&line, &at, HR_DIGEST_MD5, lines[i].is_v1);
        ck_assert_msg(step == (lines[i].path ? HR_MANIFEST_LINE : HR_MANIFEST_MALFORMED), "%s", lines[i].text);
        if (!lines[i].path)
            continue;
        ck_assert_str_eq(line.path, lines[i].path);
        ck_assert(line.has_asterisk == lines[i].has_asterisk && line.has_dot == lines[i].has_dot);
        ck_assert(line.has_stray_percent == lines[i].has_stray_percent);
    }
}
END_TEST

START_TEST(takes_any_hex_digits_of_an_algorithm_not_known)
{
    char text[] = "0a1b2c  data/a\n0a1b2  data/b\n", *at = text;
    struct hr_manifest_line line;
    ck_assert_int_eq(hr__manifest_next(&line, &at, HR_DIGEST_NONE, true), HR_MANIFEST_LINE);
    ck_assert_str_eq(line.hex, "0a1b2c");
    ck_assert_int_eq(hr__manifest_next(&line, &at, HR_DIGEST_NONE, true), HR_MANIFEST_MALFORMED);
    ck_assert_int_eq(hr__manifest_next(&line, &at, HR_DIGEST_NONE, true), HR_MANIFEST_END);
}
END_TEST

HR_SUITE("bag/manifest", writes_paths_as_the_standard_has_them_and_reads_them_back,
         reads_lines_of_others_and_marks_what_is_odd, takes_any_hex_digits_of_an_algorithm_not_known)
