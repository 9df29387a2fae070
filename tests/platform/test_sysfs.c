/* SPDX-License-Identifier: ISC */
#include "platform/sysfs.h"

#include "platform_fixture.h"
#include "suite.h"

START_TEST(reads_a_line_without_the_blanks_at_its_ends)
{
    struct scratch scratch;
    char line[16];
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "model", "  Card reader   \n");
    scratch_write_text(&scratch, "empty", " \n");
    ck_assert(hr__sysfs_line(line, sizeof line, scratch.path, "model"));
    ck_assert_str_eq(line, "Card reader");
    ck_assert(hr__sysfs_line(line, 8, scratch.path, "model"));
    ck_assert_str_eq(line, "Card");
    ck_assert(!hr__sysfs_line(line, sizeof line, scratch.path, "empty"));
    ck_assert(!hr__sysfs_line(line, sizeof line, scratch.path, "none"));
    ck_assert_str_eq(line, "");
    ck_assert_uint_eq(hr__sysfs_head(line, 4, scratch.path, "model"), 4);
    scratch_end(&scratch);
}
END_TEST

START_TEST(reads_the_number_a_line_begins_with)
{
    static const struct {
        const char *text;
        double number;
    } rows[] = {{"8.0 GT/s PCIe\n", 8},    {" 3.20\n", 3.2}, {"480\n", 480}, {"1.5\n", 1.5},
                {"6.0 Gbps\n", 6},         {"Unknown\n", 0}, {"\n", 0},      {"-1\n", 0},
                {"99999999999999999\n", 0}};
    struct scratch scratch;
    scratch_begin(&scratch);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char name[] = {'a', (char)('a' + i), '\0'};
        scratch_write_text(&scratch, name, rows[i].text);
        ck_assert_double_eq(hr__sysfs_number(scratch.path, name), rows[i].number);
    }
    ck_assert_double_eq(hr__sysfs_number(scratch.path, "none"), 0);
    scratch_end(&scratch);
}
END_TEST

HR_SUITE("platform/sysfs", reads_a_line_without_the_blanks_at_its_ends, reads_the_number_a_line_begins_with)
