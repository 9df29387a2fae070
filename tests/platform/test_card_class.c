/* SPDX-License-Identifier: ISC */
/* Registers with single fields set; their places after the SD Physical Layer Simplified Specification, 4.10.2 (from
 * memory), the promised rates after the SD Association's pages on speed classes. */
#include "platform/card_class.h"

#include <stdio.h>
#include <string.h>

#include "suite.h"

static void make(char *status, unsigned speed, unsigned grade, unsigned video)
{
    char field[3];
    memset(status, '0', 128);
    status[128] = '\0';
    snprintf(field, sizeof field, "%02x", speed & 0xFF);
    memcpy(status + 2 * 8, field, 2);
    snprintf(field, sizeof field, "%x", grade & 0xF);
    memcpy(status + 2 * 14, field, 1);
    snprintf(field, sizeof field, "%02x", video & 0xFF);
    memcpy(status + 2 * 15, field, 2);
}

START_TEST(names_the_highest_class_and_what_it_promises)
{
    static const struct {
        unsigned speed, grade, video;
        const char *name;
        double mb_per_s;
    } rows[] = {
        {1, 0, 0, "C2", 2},    {2, 0, 0, "C4", 4},    {3, 0, 0, "C6", 6},    {4, 0, 0, "C10", 10},
        {4, 1, 0, "U1", 10},   {0, 1, 0, "U1", 10},   {4, 3, 0, "U3", 30},   {0, 0, 6, "V6", 6},
        {4, 1, 10, "V10", 10}, {4, 3, 30, "V30", 30}, {4, 3, 60, "V60", 60}, {4, 3, 90, "V90", 90},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char status[129];
        struct hr_card_class found = {.bytes_per_s = 0};
        make(status, rows[i].speed, rows[i].grade, rows[i].video);
        ck_assert(hr__card_class_read(&found, status));
        ck_assert_str_eq(found.name, rows[i].name);
        ck_assert_double_eq(found.bytes_per_s, rows[i].mb_per_s * 1e6);
    }
}
END_TEST

START_TEST(names_none_where_a_card_promises_nothing_that_is_known)
{
    char status[129];
    struct hr_card_class found;
    make(status, 0, 0, 0);
    ck_assert(!hr__card_class_read(&found, status));
    make(status, 0xFF, 0xF, 0xFF);
    ck_assert(!hr__card_class_read(&found, status));
    make(status, 4, 3, 90);
    status[127] = '\0';
    ck_assert(!hr__card_class_read(&found, status));
    ck_assert(!hr__card_class_read(&found, ""));
}
END_TEST

HR_SUITE("platform/card_class", names_the_highest_class_and_what_it_promises,
         names_none_where_a_card_promises_nothing_that_is_known)
