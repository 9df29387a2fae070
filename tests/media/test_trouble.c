/* SPDX-License-Identifier: ISC */
/* Bad files: each is said to be what it is, and one whose facts are there is fine whatever else is wrong with it. */
#include <headrace/media.h>

#include "built_pictures.h"
#include "read_built.h"
#include "suite.h"

static struct built_file built;

static void build_empty(void)
{
    memset(&built, 0, sizeof built);
}

static void build_text(void)
{
    build_empty();
    put_bytes(&built, "notes on the second half", 24);
}

static void build_dated(const char *date)
{
    build_empty();
    tiff_begin(&built, false);
    directory_begin(&built, 8, 1);
    entry(&built, 0x8769, 4, 1, EXIF_OFFSET);
    directory_begin(&built, EXIF_OFFSET, 1);
    text_entry(&built, 0x9003, date);
}

static void build_zero_date(void)
{
    build_dated("0000:00:00 00:00:00");
}

static void build_impossible_date(void)
{
    build_dated("2026:02:30 15:04:05");
}

static void build_blank_date(void)
{
    build_dated("    :  :     :  :  ");
}

static void build_date_of_numbers(void)
{
    build_dated("2026:05:17 15:04:05");
    put_at(&built, EXIF_OFFSET + 2 + 2, 3, 2);
    built.size = 2000;
}

static void build_huge_count(void)
{
    build_dated("2026:05:17 15:04:05");
    put_at(&built, EXIF_OFFSET + 2 + 4, UINT32_MAX, 4);
}

static void build_value_past_end(void)
{
    build_dated("2026:05:17 15:04:05");
    put_at(&built, EXIF_OFFSET + 2 + 8, 0x7fffff00, 4);
}

static void build_directory_past_end(void)
{
    build_empty();
    tiff_begin(&built, true);
    put_at(&built, 4, 0x10000000, 4);
    put(&built, 0, 8);
}

static void build_too_many_entries(void)
{
    build_empty();
    tiff_begin(&built, true);
    put_at(&built, 8, 0xffff, 2);
    put_at(&built, BUILT_BYTES - 1, 0, 1);
}

static void build_circle(void)
{
    build_empty();
    tiff_begin(&built, false);
    directory_begin(&built, 8, 1);
    entry(&built, 0x0112, 3, 1, 6);
    put_at(&built, 8 + 2 + 12, 8, 4);
}

static void build_undated_circle_in_a_jpeg(void)
{
    build_jpeg(&built, false);
    size_t base = 12;
    put_at(&built, base + 8 + 2 + 2 * 12 + 8, 8, 4); /* the Exif directory is the first one */
}

static void build_cut_picture(size_t size)
{
    build_jpeg(&built, false);
    built.size = size;
}

static void build_jpeg_cut_in_exif(void)
{
    build_cut_picture(300);
}

static void build_jpeg_cut_before_its_frame(void)
{
    build_jpeg(&built, false);
    const unsigned char *frame = built.bytes;
    while (memcmp(frame, "\xff\xc0\0\x0b", 4) != 0)
        frame++;
    built.size = (size_t)(frame - built.bytes);
}

static void build_clip_cut_in_its_pictures(void)
{
    build_empty();
    size_t ftyp = box_begin(&built, "ftyp");
    put_bytes(&built, "isom\0\0\0\0", 8);
    box_end(&built, ftyp);
    size_t mdat = box_begin(&built, "mdat");
    put(&built, 0, 8);
    put_at(&built, mdat, 100000, 4);
}

static void build_box_smaller_than_its_head(void)
{
    build_clip_cut_in_its_pictures();
    put_at(&built, 16, 4, 4);
}

static void build_clip_without_time(void)
{
    build_empty();
    size_t moov = box_begin(&built, "moov"), mvhd = box_begin(&built, "mvhd");
    built.size += 100;
    box_end(&built, mvhd);
    box_end(&built, moov);
}

static void build_thousand_byte_model(void)
{
    build_raw(&built, false);
    unsigned char *model = built.bytes;
    while (memcmp(model, "\x10\x01\2\0", 4) != 0)
        model++;
    put_at(&built, (size_t)(model - built.bytes) + 4, 1000, 4);
}

static void build_thumbnail_directory_past_end(void)
{
    build_jpeg(&built, false);
    put_at(&built, 12 + 8 + 2 + 36, 0x00ffffff, 4);
}

static void build_whole_raw_without_its_end(void)
{
    build_raw(&built, false);
    built.size = 3000; /* where its preview would be */
}

static const struct {
    const char *name;
    void (*build)(void);
    enum hr_media_trouble trouble;
    bool has_time;
} cases[] = {
    {"an empty file", build_empty, HR_MEDIA_CUT_SHORT, false},
    {"a text", build_text, HR_MEDIA_UNKNOWN_KIND, false},
    {"0000:00:00", build_zero_date, HR_MEDIA_BAD_TIME, false},
    {"30 February", build_impossible_date, HR_MEDIA_BAD_TIME, false},
    {"a date of numbers", build_date_of_numbers, HR_MEDIA_BAD_TIME, false},
    {"a blank date", build_blank_date, HR_MEDIA_NO_TIME, false},
    {"a huge count", build_huge_count, HR_MEDIA_MALFORMED, false},
    {"a value past the end", build_value_past_end, HR_MEDIA_CUT_SHORT, false},
    {"a directory past the end", build_directory_past_end, HR_MEDIA_CUT_SHORT, false},
    {"65,535 entries", build_too_many_entries, HR_MEDIA_MALFORMED, false},
    {"a circle", build_circle, HR_MEDIA_MALFORMED, false},
    {"a circle in a JPEG", build_undated_circle_in_a_jpeg, HR_MEDIA_MALFORMED, false},
    {"a JPEG cut in its Exif", build_jpeg_cut_in_exif, HR_MEDIA_CUT_SHORT, false},
    {"a JPEG cut before its size", build_jpeg_cut_before_its_frame, HR_MEDIA_CUT_SHORT, true},
    {"a clip cut short", build_clip_cut_in_its_pictures, HR_MEDIA_CUT_SHORT, false},
    {"a box smaller than its head", build_box_smaller_than_its_head, HR_MEDIA_MALFORMED, false},
    {"a clip without time", build_clip_without_time, HR_MEDIA_NO_TIME, false},
    {"a thousand-byte model", build_thousand_byte_model, HR_MEDIA_FINE, true},
    {"a thumbnail past the end", build_thumbnail_directory_past_end, HR_MEDIA_FINE, true},
    {"a raw without its end", build_whole_raw_without_its_end, HR_MEDIA_FINE, true},
};

START_TEST(a_bad_file_is_said_to_be_what_it_is)
{
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        cases[i].build();
        struct hr_media_facts facts = read_whole(&built);
        ck_assert_msg(facts.trouble == cases[i].trouble, "%s: %u", cases[i].name, facts.trouble);
        ck_assert_msg(facts.has_time == cases[i].has_time, "%s", cases[i].name);
    }
}
END_TEST

START_TEST(a_file_that_ends_before_its_size_is_cut_short)
{
    build_jpeg(&built, true);
    for (size_t whole = built.size, size = 16; size < 150; size++) {
        built.size = size;
        struct hr_media_facts facts = read_built(&built, whole, SIZE_MAX);
        ck_assert_msg(facts.trouble == HR_MEDIA_CUT_SHORT, "%zu: %u", size, facts.trouble);
    }
}
END_TEST

START_TEST(a_text_too_long_to_believe_is_absent)
{
    build_thousand_byte_model();
    struct hr_media_facts facts = read_whole(&built);
    ck_assert_str_eq(facts.model, "");
    ck_assert_str_eq(facts.serial, "NM-0042");
}
END_TEST

START_TEST(every_trouble_has_words_and_none_has_none)
{
    ck_assert_ptr_null(hr_media_trouble_text(HR_MEDIA_FINE));
    for (int trouble = HR_MEDIA_FINE + 1; trouble <= HR_MEDIA_NO_TIME; trouble++)
        ck_assert_str_ne(hr_media_trouble_text((enum hr_media_trouble)trouble), "");
}
END_TEST

HR_SUITE("media/trouble", a_bad_file_is_said_to_be_what_it_is, a_file_that_ends_before_its_size_is_cut_short,
         a_text_too_long_to_believe_is_absent, every_trouble_has_words_and_none_has_none)
