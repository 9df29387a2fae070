/* SPDX-License-Identifier: ISC */
#include "base/array.h"
#include "base/checked.h"
#include "base/median.h"
#include "base/units.h"
#include "suite.h"

#include <stdlib.h>

START_TEST(adds_up_to_the_last_value_that_fits)
{
    uint64_t sum = 7;
    ck_assert(hr__add_u64(&sum, UINT64_MAX - 1, 1));
    ck_assert_uint_eq(sum, UINT64_MAX);
    ck_assert(!hr__add_u64(&sum, UINT64_MAX, 1));
    ck_assert_uint_eq(sum, UINT64_MAX);
    size_t size = 7;
    ck_assert(hr__add_size(&size, SIZE_MAX, 0));
    ck_assert(!hr__add_size(&size, 1, SIZE_MAX));
    ck_assert_uint_eq(size, SIZE_MAX);
}
END_TEST

START_TEST(multiplies_up_to_the_last_value_that_fits)
{
    uint64_t product = 7;
    ck_assert(hr__multiply_u64(&product, UINT64_MAX / 3, 3));
    ck_assert_uint_eq(product, UINT64_MAX);
    ck_assert(!hr__multiply_u64(&product, UINT64_MAX / 3 + 1, 3));
    ck_assert_uint_eq(product, UINT64_MAX);
    ck_assert(hr__multiply_u64(&product, 0, UINT64_MAX));
    ck_assert_uint_eq(product, 0);
    size_t size = 7;
    ck_assert(hr__multiply_size(&size, 0, 5));
    ck_assert(!hr__multiply_size(&size, SIZE_MAX, 2));
    ck_assert_uint_eq(size, 0);
}
END_TEST

START_TEST(reads_decimal_numbers_and_nothing_else)
{
    static const struct {
        const char *text;
        uint64_t max, value;
        bool good;
    } rows[] = {
        {"0", 10, 0, true},
        {"007", 10, 7, true},
        {"10", 10, 10, true},
        {"11", 10, 0, false},
        {"18446744073709551615", UINT64_MAX, UINT64_MAX, true},
        {"18446744073709551616", UINT64_MAX, 0, false},
        {"99999999999999999999999", UINT64_MAX, 0, false},
        {"", 10, 0, false},
        {"-1", 10, 0, false},
        {"+1", 10, 0, false},
        {" 1", 10, 0, false},
        {"1 ", 10, 0, false},
        {"0x1", 10, 0, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        uint64_t value = 99;
        ck_assert_msg(hr__parse_u64(&value, rows[i].text, rows[i].max) == rows[i].good, "'%s'", rows[i].text);
        ck_assert_uint_eq(value, rows[i].good ? rows[i].value : 99);
    }
}
END_TEST

START_TEST(reads_negative_numbers_where_they_may_be)
{
    static const struct {
        const char *text;
        int64_t max, value;
        bool good;
    } rows[] = {
        {"0", 10, 0, true},
        {"-0", 10, 0, true},
        {"-10", 10, -10, true},
        {"-11", 10, 0, false},
        {"11", 10, 0, false},
        {"9223372036854775807", INT64_MAX, INT64_MAX, true},
        {"-9223372036854775807", INT64_MAX, -INT64_MAX, true},
        {"9223372036854775808", INT64_MAX, 0, false},
        {"-", 10, 0, false},
        {"--1", 10, 0, false},
        {"- 1", 10, 0, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int64_t value = 99;
        ck_assert_msg(hr__parse_i64(&value, rows[i].text, rows[i].max) == rows[i].good, "'%s'", rows[i].text);
        ck_assert_int_eq(value, rows[i].good ? rows[i].value : 99);
    }
}
END_TEST

START_TEST(reads_decimal_fractions_and_nothing_else)
{
    static const struct {
        const char *text;
        double value; /* -1: refused */
    } rows[] = {{"4", 4},
                {"2.5", 2.5},
                {".5", 0.5},
                {"4.", 4},
                {"0.1", 0.1},
                {"0", 0},
                {"99999.9999999999", 99999.9999999999},
                {"100000", 100000},
                {"100000.1", -1},
                {"0.1234567890123456", -1},
                {"", -1},
                {".", -1},
                {"1.2.3", -1},
                {"-1", -1},
                {"+1", -1},
                {" 1", -1},
                {"1 ", -1},
                {"1e3", -1},
                {"0x4", -1},
                {"inf", -1},
                {"nan", -1},
                {"2,5", -1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double value = -1;
        ck_assert_msg(hr__parse_decimal(&value, rows[i].text, 100000) == (rows[i].value >= 0), "'%s'", rows[i].text);
        ck_assert_double_eq(value, rows[i].value);
    }
}
END_TEST

START_TEST(grows_an_array_and_zeroes_what_is_new)
{
    int *items = NULL;
    size_t capacity = 0;
    for (size_t count = 0; count < 1000; count++) {
        ck_assert(hr__array_reserve(&items, &capacity, count + 1, sizeof *items, 1000));
        ck_assert_int_eq(items[capacity - 1], 0);
        items[count] = (int)count + 1;
    }
    for (size_t i = 0; i < 1000; i++)
        ck_assert_int_eq(items[i], (int)i + 1);
    free(items);
}
END_TEST

START_TEST(leaves_an_array_alone_past_its_ceiling)
{
    int *items = NULL;
    size_t capacity = 0;
    ck_assert(hr__array_reserve(&items, &capacity, 3, sizeof *items, 5));
    ck_assert_uint_le(capacity, 5);
    int *before = items;
    ck_assert(!hr__array_reserve(&items, &capacity, 6, sizeof *items, 5));
    ck_assert_ptr_eq(items, before);
    ck_assert(!hr__array_reserve(&items, &capacity, SIZE_MAX / 2, sizeof *items, SIZE_MAX));
    ck_assert_ptr_eq(items, before);
    free(items);
}
END_TEST

START_TEST(shows_bytes_in_powers_of_ten)
{
    static const struct {
        uint64_t bytes;
        const char *text;
    } rows[] = {
        {0, "0 B"},
        {999, "999 B"},
        {1000, "1 kB"},
        {61441, "61 kB"},
        {999499, "999 kB"},
        {999500, "1.0 MB"},
        {4200000, "4.2 MB"},
        {9949999, "9.9 MB"},
        {9950000, "10 MB"},
        {412000000, "412 MB"},
        {999499999, "999 MB"},
        {999500000, "1.00 GB"},
        {2800000000, "2.80 GB"},
        {99994999999, "99.99 GB"},
        {99995000000, "100.0 GB"},
        {128000000000, "128.0 GB"},
        {999950000000, "1.00 TB"},
        {1200000000000, "1.20 TB"},
        {UINT64_MAX, "18446744.07 TB"},
    };
    char text[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_str_eq(hr__format_bytes(text, rows[i].bytes), rows[i].text);
}
END_TEST

START_TEST(shows_rates_in_megabytes)
{
    static const struct {
        double rate;
        const char *text;
    } rows[] = {
        {0, "0 MB/s"},        {-1, "0 MB/s"},          {49999, "0 MB/s"},
        {400000, "0.4 MB/s"}, {9940000, "9.9 MB/s"},   {9960000, "10 MB/s"},
        {412e6, "412 MB/s"},  {412460000, "412 MB/s"}, {1e300, "1000000000 MB/s"},
    };
    char text[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_str_eq(hr__format_rate(text, rows[i].rate), rows[i].text);
}
END_TEST

START_TEST(shows_times_to_the_nearest_second)
{
    static const struct {
        int64_t ns;
        const char *text;
    } rows[] = {
        {0, "0 s"},
        {INT64_MIN, "0 s"},
        {499999999, "0 s"},
        {8 * HR_NS_PER_S, "8 s"},
        {59 * HR_NS_PER_S, "59 s"},
        {59 * HR_NS_PER_S + 500000000, "1 min 00 s"},
        {245 * HR_NS_PER_S, "4 min 05 s"},
        {250 * HR_NS_PER_S, "4 min 10 s"},
        {3599 * HR_NS_PER_S, "59 min 59 s"},
        {3600 * HR_NS_PER_S, "1 h 00 min"},
        {3720 * HR_NS_PER_S, "1 h 02 min"},
        {INT64_MAX, "2562047 h 47 min"},
    };
    char text[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_str_eq(hr__format_duration(text, rows[i].ns), rows[i].text);
}
END_TEST

START_TEST(shows_counts_in_groups_of_three)
{
    static const struct {
        uint64_t count;
        const char *text;
    } rows[] = {
        {0, "0"}, {999, "999"}, {5000, "5,000"}, {1234567, "1,234,567"}, {UINT64_MAX, "18,446,744,073,709,551,615"}};
    char text[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_str_eq(hr__format_count(text, rows[i].count), rows[i].text);
}
END_TEST

START_TEST(counts_things_in_words)
{
    static const struct {
        uint64_t count;
        const char *noun, *text;
    } rows[] = {{0, "file", "0 files"},
                {1, "file", "1 file"},
                {2, "frame", "2 frames"},
                {5000, "file", "5,000 files"},
                {1, "entry", "1 entry"},
                {0, "entry", "0 entries"},
                {12, "copy", "12 copies"},
                {1, "drive", "1 drive"},
                {UINT64_MAX, "entry", "18,446,744,073,709,551,615 entries"}};
    char text[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_str_eq(hr__format_counted(text, rows[i].count, rows[i].noun), rows[i].text);
}
END_TEST

START_TEST(finds_the_middle_of_values_and_sorts_them)
{
    double odd[] = {3, -1, 1e9}, even[] = {4, 1, 2, 100};
    ck_assert_double_eq(hr__median(odd, 3), 3);
    ck_assert_double_eq(hr__median(even, 4), 3);
    ck_assert_double_eq(even[0], 1);
    ck_assert_double_eq(even[3], 100);
    ck_assert_double_eq(hr__median(even, 1), 1);
    ck_assert_double_eq(hr__median(NULL, 0), 0);
}
END_TEST

HR_SUITE("base/numbers", adds_up_to_the_last_value_that_fits, multiplies_up_to_the_last_value_that_fits,
         reads_decimal_numbers_and_nothing_else, reads_negative_numbers_where_they_may_be,
         reads_decimal_fractions_and_nothing_else, grows_an_array_and_zeroes_what_is_new,
         leaves_an_array_alone_past_its_ceiling, shows_bytes_in_powers_of_ten, shows_rates_in_megabytes,
         shows_times_to_the_nearest_second, shows_counts_in_groups_of_three, counts_things_in_words,
         finds_the_middle_of_values_and_sorts_them)
