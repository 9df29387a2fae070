/* SPDX-License-Identifier: ISC */
/* Heads heard in passing, on built pictures: the row is the one that reading the head by itself gives, or there is
 * none. */
#include "offload/heads.h"

#include <headrace/card.h>

#include <stdlib.h>
#include <string.h>

#include "built_pictures.h"
#include "card/frame_row.h"
#include "suite.h"

enum { ITEMS = 3 };

static struct built_file built;
static struct hr_card_file files[ITEMS];
static struct hr_transfer_item items[ITEMS];
static struct hr_heads heads;

static void begin(uint64_t size_bytes, enum hr_card_file_kind kind)
{
    for (size_t i = 0; i < ITEMS; i++) {
        files[i] = (struct hr_card_file){.path = "DCIM/100NMERE/NMA_0001.JPG",
                                         .size_bytes = size_bytes,
                                         .kind = (uint8_t)kind,
                                         .is_protected = i == 1};
        items[i] = (struct hr_transfer_item){.file = &files[i]};
    }
    ck_assert_int_eq(hr__heads_init(&heads, items, ITEMS, NULL), HR_OK);
}

static void tell(size_t feed, size_t item, size_t from, size_t to)
{
    struct hr_transfer_listener listener = hr__heads_listener(&heads);
    listener.hear(listener.context, feed, item, from, built.bytes + from, to - from, HR_OK);
}

static void tell_end(size_t feed, size_t item, enum hr_status status)
{
    struct hr_transfer_listener listener = hr__heads_listener(&heads);
    listener.hear(listener.context, feed, item, built.size, NULL, 0, status);
}

static void tell_all(size_t feed, size_t item, size_t piece)
{
    for (size_t at = 0; at < built.size; at += piece)
        tell(feed, item, at, at + piece < built.size ? at + piece : built.size);
    tell_end(feed, item, HR_OK);
}

/* The row of item `item` as reading its head says, where each want is answered. The caller frees. */
static char *row_by_itself(size_t item)
{
    struct hr_media_reader *reader = NULL;
    struct hr_frame_row row = {.path = files[item].path, .is_protected = files[item].is_protected};
    struct hr_text text;
    uint64_t offset;
    size_t size;
    ck_assert_int_eq(hr_media_reader_create(&reader, built.size, NULL), HR_OK);
    while (hr_media_reader_wants(reader, &offset, &size))
        hr_media_reader_feed(reader, offset, built.bytes + offset, size);
    hr_media_reader_facts(reader, &row.facts);
    hr_media_reader_destroy(reader);
    hr__text_init(&text, 1 << 16);
    hr__frame_row_append(&text, &row);
    return hr__text_take(&text);
}

static void expect_row(size_t item)
{
    char *row = hr__heads_take(&heads, item), *wanted = row_by_itself(item);
    ck_assert_ptr_nonnull(row);
    ck_assert_str_eq(row, wanted);
    free(row);
    free(wanted);
}

static void expect_none(size_t item)
{
    ck_assert_ptr_null(hr__heads_take(&heads, item));
}

START_TEST(gives_the_row_that_reading_the_head_gives_however_the_file_is_cut)
{
    static const size_t pieces[] = {1, 511, 4096, 1 << 20};
    for (int picture = 0; picture < BUILT_PICTURE_COUNT; picture++)
        for (size_t i = 0; i < sizeof pieces / sizeof *pieces; i++) {
            built_pictures[picture].build(&built, false);
            begin(built.size, HR_KIND_JPEG);
            tell_all(0, 1, pieces[i]);
            expect_none(0);
            expect_row(1);
            expect_none(1); /* it was taken */
            hr__heads_finish(&heads);
        }
}
END_TEST

START_TEST(keeps_the_files_of_feeds_apart)
{
    built_pictures[0].build(&built, false);
    begin(built.size, HR_KIND_RAW);
    size_t half = built.size / 2;
    tell(0, 0, 0, half);
    tell(3, 1, 0, half);
    tell(0, 0, half, built.size);
    tell_end(0, 0, HR_OK);
    tell_all(0, 2, 100);
    tell(3, 1, half, built.size);
    tell_end(3, 1, HR_OK);
    for (size_t i = 0; i < ITEMS; i++)
        expect_row(i);
    hr__heads_finish(&heads);
}
END_TEST

START_TEST(has_no_row_for_what_is_no_picture_and_no_clip)
{
    static const enum hr_card_file_kind kinds[] = {HR_KIND_OTHER, HR_KIND_SOUND, HR_KIND_SIDECAR};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        built_pictures[0].build(&built, false);
        begin(built.size, kinds[i]);
        tell_all(0, 0, 4096);
        expect_none(0);
        hr__heads_finish(&heads);
    }
}
END_TEST

START_TEST(has_no_row_for_a_file_that_could_not_be_read_until_it_is)
{
    built_pictures[0].build(&built, false);
    begin(built.size, HR_KIND_JPEG);
    tell(0, 0, 0, built.size);
    tell_end(0, 0, HR_DIFFERS);
    tell(0, 1, 0, 100);
    tell_end(0, 1, HR_IO);
    expect_none(0);
    expect_none(1);
    tell_all(0, 0, 4096);
    expect_row(0);
    hr__heads_finish(&heads);
}
END_TEST

START_TEST(has_one_row_though_a_file_is_read_again_for_a_place)
{
    built_pictures[0].build(&built, false);
    begin(built.size, HR_KIND_JPEG);
    tell_all(0, 0, 4096);
    expect_row(0);
    items[0].xxh128.kind = HR_DIGEST_XXH128;
    tell_all(0, 0, 4096);
    expect_none(0);
    hr__heads_finish(&heads);
}
END_TEST

/* A directory at the end (TIFF 6.0, section 2, allows it) whose value lies before it, past what the reader keeps. */
START_TEST(has_no_row_where_the_head_points_back_to_what_has_passed)
{
    memset(&built, 0, sizeof built);
    tiff_begin(&built, false);
    put_at(&built, 4, 150000, 4);
    built.pool = 100000;
    directory_begin(&built, 150000, 1);
    text_entry(&built, 0x0110, "Body A");
    begin(built.size, HR_KIND_RAW);
    tell_all(0, 0, 4096);
    expect_none(0);
    tell_all(0, 0, 1 << 20);
    expect_row(0);
    hr__heads_finish(&heads);
}
END_TEST

START_TEST(says_of_an_empty_picture_what_is_wrong)
{
    struct hr_frame_row row;
    memset(&built, 0, sizeof built);
    begin(0, HR_KIND_JPEG);
    tell_end(0, 0, HR_OK);
    char *line = hr__heads_take(&heads, 0);
    ck_assert(line && hr__frame_row_parse(&row, line));
    ck_assert_int_ne(row.facts.trouble, HR_MEDIA_FINE);
    free(line);
    hr__heads_finish(&heads);
}
END_TEST

HR_SUITE("offload/heads", gives_the_row_that_reading_the_head_gives_however_the_file_is_cut,
         keeps_the_files_of_feeds_apart, has_no_row_for_what_is_no_picture_and_no_clip,
         has_no_row_for_a_file_that_could_not_be_read_until_it_is, has_one_row_though_a_file_is_read_again_for_a_place,
         has_no_row_where_the_head_points_back_to_what_has_passed, says_of_an_empty_picture_what_is_wrong)
