/* SPDX-License-Identifier: ISC */
/* Exif values from text. Rules: CIPA DC-008 as check values section 4 of the project's reference has them, from memory
 * there. */
#include "media/exif_value.h"

#include <string.h>

#include "suite.h"

/* Seconds by `date -u -d "..." +%s` of coreutils 9.1. */
static const struct {
    const char *text;
    int64_t seconds;
} times[] = {
    {"1970:01:01 00:00:00", 0},           {"1969:12:31 23:59:59", -1},           {"2000:02:29 12:00:00", 951825600},
    {"2024:02:29 23:59:59", 1709251199},  {"2026:05:17 15:04:05", 1779030245},   {"2100:03:01 00:00:00", 4107542400},
    {"1900:03:01 00:00:00", -2203891200}, {"0001:01:01 00:00:00", -62135596800}, {"2026:05:17 15:04:05 ", 1779030245},
};

START_TEST(dates_are_the_seconds_that_coreutils_counts)
{
    for (size_t i = 0; i < sizeof times / sizeof *times; i++) {
        int64_t seconds = 0;
        ck_assert(hr__exif_time(&seconds, (const unsigned char *)times[i].text, strlen(times[i].text) + 1));
        ck_assert_int_eq(seconds, times[i].seconds);
        ck_assert(hr__exif_time(&seconds, (const unsigned char *)times[i].text, strlen(times[i].text)));
        ck_assert_int_eq(seconds, times[i].seconds);
    }
}
END_TEST

START_TEST(blank_torn_and_impossible_dates_are_absent)
{
    static const char *const bad[] = {
        "0000:00:00 00:00:00", "    :  :     :  :  ",  "                   ", "",
        "2026:05:17 15:04",    "2026:05:17 15:04:0",   "2026/05/17 15:04:05", "2026:05:17T15:04:05",
        "2026:13:01 00:00:00", "2026:00:01 00:00:00",  "2026:02:29 00:00:00", "2100:02:29 00:00:00",
        "2026:04:31 00:00:00", "2026:05:00 00:00:00",  "2026:05:17 24:00:00", "2026:05:17 15:60:00",
        "2026:05:17 15:04:60", "2026:05:17 15:04:05Z", "-026:05:17 15:04:05", "2026:05:17 15: 4:05",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        int64_t seconds = 7;
        ck_assert_msg(!hr__exif_time(&seconds, (const unsigned char *)bad[i], strlen(bad[i])), "%s", bad[i]);
        ck_assert_int_eq(seconds, 7);
    }
}
END_TEST

static const struct {
    const char *text;
    size_t size;
    bool is_there;
    uint32_t nanoseconds;
    uint8_t digits;
} fractions[] = {
    {"42", 2, true, 420000000, 2},
    {"042", 3, true, 42000000, 3},
    {"042000", 6, true, 42000000, 6},
    {"42  ", 4, true, 420000000, 2},
    {"42\0\0", 4, true, 420000000, 2},
    {"0", 1, true, 0, 1},
    {"000000001", 9, true, 1, 9},
    {"1234567899", 10, true, 123456789, 10},
    {"   ", 3, false, 0, 0},
    {"", 0, false, 0, 0},
    {"\0"
     "42",
     3, false, 0, 0},
    {" 42", 3, false, 0, 0},
    {"4x", 2, false, 0, 0},
    {"-4", 2, false, 0, 0},
    {"4.2", 3, false, 0, 0},
};

START_TEST(sub_seconds_are_digits_after_the_point)
{
    for (size_t i = 0; i < sizeof fractions / sizeof *fractions; i++) {
        uint32_t nanoseconds = 0;
        uint8_t digits = 0;
        bool is_there =
            hr__exif_fraction(&nanoseconds, &digits, (const unsigned char *)fractions[i].text, fractions[i].size);
        ck_assert_msg(is_there == fractions[i].is_there, "%s", fractions[i].text);
        ck_assert_uint_eq(nanoseconds, fractions[i].nanoseconds);
        ck_assert_uint_eq(digits, fractions[i].digits);
    }
}
END_TEST

START_TEST(more_sub_second_digits_than_can_be_counted_are_absent)
{
    unsigned char nines[300];
    uint32_t nanoseconds = 0;
    uint8_t digits = 0;
    memset(nines, '9', sizeof nines);
    ck_assert(hr__exif_fraction(&nanoseconds, &digits, nines, 255));
    ck_assert_uint_eq(nanoseconds, 999999999);
    ck_assert_uint_eq(digits, 255);
    ck_assert(!hr__exif_fraction(&nanoseconds, &digits, nines, 256));
}
END_TEST

static const struct {
    const char *text;
    bool is_there;
    int16_t minutes;
} offsets[] = {
    {"+00:00", true, 0},     {"-00:00", true, 0},       {"+02:00", true, 120},  {"-09:30", true, -570},
    {"+05:45", true, 345},   {"+14:00", true, 840},     {"+02:00 ", true, 120}, {"", false, 0},
    {"      ", false, 0},    {"   :  ", false, 0},      {"02:00", false, 0},    {"+2:00", false, 0},
    {"+02:60", false, 0},    {"+24:00", false, 0},      {"+0200", false, 0},    {"Z", false, 0},
    {"+02:00:00", false, 0}, {"\x2d\xff:00", false, 0},
};

START_TEST(offsets_are_minutes_east_of_utc)
{
    for (size_t i = 0; i < sizeof offsets / sizeof *offsets; i++) {
        int16_t minutes = 0;
        bool is_there = hr__exif_offset(&minutes, (const unsigned char *)offsets[i].text, strlen(offsets[i].text) + 1);
        ck_assert_msg(is_there == offsets[i].is_there, "%s", offsets[i].text);
        ck_assert_int_eq(minutes, offsets[i].minutes);
    }
}
END_TEST

START_TEST(texts_are_trimmed_and_must_fit_and_be_printable)
{
    char out[8] = "before";
    ck_assert(hr__exif_text(out, sizeof out, (const unsigned char *)"  B 12  \0junk", 13));
    ck_assert_str_eq(out, "B 12");
    ck_assert(hr__exif_text(out, sizeof out, (const unsigned char *)"1234567", 7));
    ck_assert_str_eq(out, "1234567");
    ck_assert(!hr__exif_text(out, sizeof out, (const unsigned char *)"12345678", 8));
    ck_assert(!hr__exif_text(out, sizeof out, (const unsigned char *)"    ", 4));
    ck_assert(!hr__exif_text(out, sizeof out, (const unsigned char *)"A\x1b[2J", 5));
    ck_assert(!hr__exif_text(out, sizeof out, (const unsigned char *)"A\xff", 2));
    ck_assert(!hr__exif_text(out, sizeof out, (const unsigned char *)"\0A", 2));
    ck_assert_str_eq(out, "1234567");
    ck_assert(hr__exif_text(out, sizeof out,
                            (const unsigned char *)"\xc3\x89"
                                                   "1",
                            3));
    ck_assert_str_eq(out, "\xc3\x89"
                          "1");
}
END_TEST

HR_SUITE("media/exif_value", dates_are_the_seconds_that_coreutils_counts, blank_torn_and_impossible_dates_are_absent,
         sub_seconds_are_digits_after_the_point, more_sub_second_digits_than_can_be_counted_are_absent,
         offsets_are_minutes_east_of_utc, texts_are_trimmed_and_must_fit_and_be_printable)
