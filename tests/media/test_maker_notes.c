/* SPDX-License-Identifier: ISC */
/* Maker's notes that lie or are cut. What those of real cameras say is in camera_facts.sh. */
#include <headrace/media.h>

#include "built_pictures.h"
#include "read_built.h"
#include "suite.h"

enum {
    ORIENTATION_ENTRY = 8 + 2 + 6 * 12,
    EXIF_ENTRY = 8 + 2 + 10 * 12,
    NOTE_ENTRY = EXIF_OFFSET + 2 + 5 * 12,
    DRIVE_ENTRY = NOTES_OFFSET + 6 + 2
};

static struct built_file built;

static void begin(void)
{
    build_raw(&built, false);
    ck_assert_uint_eq(built.bytes[ORIENTATION_ENTRY], 0x12);
    ck_assert_uint_eq(built.bytes[EXIF_ENTRY], 0x69);
    ck_assert_uint_eq(built.bytes[NOTE_ENTRY], 0x7c);
    ck_assert_uint_eq(built.bytes[DRIVE_ENTRY], 0x34);
}

static const char *drive_mode(void)
{
    static struct hr_media_facts facts;
    facts = read_whole(&built);
    ck_assert(facts.has_time);
    return facts.drive_mode;
}

START_TEST(words_are_taken_and_numbers_are_not)
{
    begin();
    ck_assert_str_eq(drive_mode(), "Burst");
    put_at(&built, DRIVE_ENTRY + 2, 3, 2); /* a number of two bytes */
    put_at(&built, DRIVE_ENTRY + 4, 1, 4);
    ck_assert_str_eq(drive_mode(), "");
    put_at(&built, DRIVE_ENTRY + 2, 7, 2); /* bytes of any kind */
    ck_assert_str_eq(drive_mode(), "");
}
END_TEST

START_TEST(notes_that_lie_say_nothing_and_the_rest_stands)
{
    static const struct {
        size_t at, width;
        uint32_t number;
    } lies[] = {
        {NOTE_ENTRY + 8, 4, UINT32_MAX},  /* the notes lie past the block */
        {NOTE_ENTRY + 4, 4, 0},           /* they are empty */
        {DRIVE_ENTRY + 4, 4, UINT32_MAX}, /* so many letters */
        {DRIVE_ENTRY + 8, 4, UINT32_MAX}, /* the word lies past the block */
        {DRIVE_ENTRY + 4, 4, 0},          /* no letters */
        {DRIVE_ENTRY - 2, 2, 0xffff},     /* so many entries */
        {DRIVE_ENTRY - 8, 1, 'X'},        /* a layout that nobody knows */
        {EXIF_ENTRY, 2, 0x8768},          /* no Exif directory, so no time either */
    };
    for (size_t i = 0; i < sizeof lies / sizeof *lies; i++) {
        begin();
        put_at(&built, lies[i].at, lies[i].number, lies[i].width);
        struct hr_media_facts facts = read_whole(&built);
        ck_assert_msg(facts.drive_mode[0] == '\0', "%zu: %s", i, facts.drive_mode);
        ck_assert_str_eq(facts.model, "Body A");
    }
}
END_TEST

/* libexif is told that the notes are short, and lets no value of more than 8 KiB in. */
START_TEST(long_notes_are_read_and_long_values_in_them_are_not)
{
    begin();
    put_at(&built, NOTE_ENTRY + 4, 3000, 4);
    ck_assert_str_eq(drive_mode(), "Burst");
    built.size = 20000;
    put_at(&built, DRIVE_ENTRY + 4, 8000, 4);
    ck_assert_str_eq(drive_mode(), "Burst");
    put_at(&built, DRIVE_ENTRY + 4, 9000, 4);
    ck_assert_str_eq(drive_mode(), "");
}
END_TEST

START_TEST(a_maker_of_a_thousand_bytes_hides_nothing)
{
    begin();
    put_at(&built, ORIENTATION_ENTRY, 0x010f, 2); /* its place has the orientation else */
    put_at(&built, ORIENTATION_ENTRY + 2, 2, 2);
    put_at(&built, ORIENTATION_ENTRY + 4, 1000, 4);
    put_at(&built, ORIENTATION_ENTRY + 8, 8, 4);
    ck_assert_str_eq(drive_mode(), "Burst");
}
END_TEST

START_TEST(a_standard_serial_is_the_only_one_told)
{
    begin();
    struct hr_media_facts facts = read_whole(&built);
    ck_assert_str_eq(facts.serial, "NM-0042");
    ck_assert_str_eq(facts.maker_serial, "");
}
END_TEST

HR_SUITE("media/maker_notes", words_are_taken_and_numbers_are_not, notes_that_lie_say_nothing_and_the_rest_stands,
         long_notes_are_read_and_long_values_in_them_are_not, a_maker_of_a_thousand_bytes_hides_nothing,
         a_standard_serial_is_the_only_one_told)
