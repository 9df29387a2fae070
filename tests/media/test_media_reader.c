/* SPDX-License-Identifier: ISC */
/* The reader on built files: the same facts however the bytes come, and an end to every file. Camera files are in
 * camera_files.sh, mutated ones in fuzz/. */
#include <headrace/media.h>

#include <stdio.h>

#include "built_pictures.h"
#include "read_built.h"
#include "suite.h"

static struct built_file built;

static void assert_previews(const struct hr_media_facts *facts, int picture)
{
    const char *name = built_pictures[picture].name;
    ck_assert_msg(facts->preview_count == built_pictures[picture].preview_count, "%s: %u", name, facts->preview_count);
    for (size_t i = 0; i < facts->preview_count; i++) {
        const struct hr_media_preview *preview = &facts->previews[i];
        ck_assert_msg(i == 0 || preview->size_bytes <= preview[-1].size_bytes, "%s", name);
        ck_assert_uint_le(preview->offset + preview->size_bytes, built.size);
        ck_assert_msg(memcmp(built.bytes + preview->offset, "\xff\xd8", 2) == 0, "%s", name);
    }
}

static void assert_all_facts(const struct hr_media_facts *facts, int picture)
{
    const char *name = built_pictures[picture].name;
    uint32_t scale = built_pictures[picture].lacks_size ? 0 : 1;
    ck_assert_msg(facts->has_time, "%s", name);
    ck_assert_int_eq(facts->local_time_s, 1779030245);
    ck_assert_uint_eq(facts->fraction_ns, 42000000);
    ck_assert_uint_eq(facts->fraction_digits, 3);
    ck_assert(facts->has_offset);
    ck_assert_int_eq(facts->offset_minutes, 120);
    ck_assert_str_eq(facts->serial, "NM-0042");
    ck_assert_str_eq(facts->model, "Body A");
    ck_assert_msg(facts->rating == 4, "%s: %d", name, facts->rating);
    ck_assert_uint_eq(facts->width_pixels, 6000 * scale);
    ck_assert_uint_eq(facts->height_pixels, 4000 * scale);
    ck_assert_uint_eq(facts->orientation, 6);
    ck_assert_msg(facts->iso == 3200, "%s: %u", name, (unsigned)facts->iso);
    ck_assert_uint_eq(facts->exposure_numerator, 1);
    ck_assert_uint_eq(facts->exposure_denominator, 1000);
    ck_assert_str_eq(facts->drive_mode, built_pictures[picture].lacks_notes ? "" : "Burst");
    ck_assert_str_eq(facts->maker_serial, "");
    ck_assert_int_eq(facts->run_number, -1);
    ck_assert_uint_eq(facts->trouble, HR_MEDIA_FINE);
    assert_previews(facts, picture);
}

START_TEST(every_container_gives_every_fact_in_either_byte_order)
{
    for (int i = 0; i < 2 * BUILT_PICTURE_COUNT; i++) {
        built_pictures[i / 2].build(&built, i % 2);
        struct hr_media_facts facts = read_whole(&built);
        assert_all_facts(&facts, i / 2);
    }
}
END_TEST

START_TEST(wants_answered_in_small_pieces_give_the_same_facts)
{
    static const size_t pieces[] = {1, 7, 100};
    for (int i = 0; i < BUILT_PICTURE_COUNT; i++)
        for (size_t piece = 0; piece < sizeof pieces / sizeof *pieces; piece++) {
            built_pictures[i].build(&built, true);
            struct hr_media_facts facts = read_built(&built, built.size, pieces[piece]);
            assert_all_facts(&facts, i);
        }
}
END_TEST

START_TEST(a_copy_passing_by_in_order_gives_the_same_facts)
{
    static const size_t blocks[] = {1, 13, 512, 4096, BUILT_BYTES};
    for (int i = 0; i < BUILT_PICTURE_COUNT; i++)
        for (size_t b = 0; b < sizeof blocks / sizeof *blocks; b++) {
            built_pictures[i].build(&built, false);
            struct hr_media_reader *reader = new_reader(built.size);
            for (size_t at = 0, block; at < built.size; at += block) {
                block = built.size - at < blocks[b] ? built.size - at : blocks[b];
                hr_media_reader_feed(reader, at, built.bytes + at, block);
            }
            uint64_t offset;
            size_t size;
            ck_assert_msg(!hr_media_reader_wants(reader, &offset, &size), "%s", built_pictures[i].name);
            struct hr_media_facts facts = finish(reader);
            assert_all_facts(&facts, i);
        }
}
END_TEST

START_TEST(bytes_that_nobody_asked_for_change_nothing)
{
    static const unsigned char noise[4096] = {0xff, 0xe1, 'I', 'I'};
    build_jpeg(&built, false);
    struct hr_media_reader *reader = new_reader(built.size);
    uint64_t offset;
    size_t size;
    hr_media_reader_feed(reader, 100000, noise, sizeof noise);
    hr_media_reader_feed(reader, 3, noise, 0);
    while (hr_media_reader_wants(reader, &offset, &size)) {
        hr_media_reader_feed(reader, offset, built.bytes + offset, 11 < size ? 11 : size);
        hr_media_reader_feed(reader, offset + 200000, noise, sizeof noise);
    }
    struct hr_media_facts facts = finish(reader);
    assert_all_facts(&facts, 0);
}
END_TEST

/* What a torn file still gives is what the whole one gives, or nothing. */
static void assert_equal_or_absent(const struct hr_media_facts *facts, size_t size)
{
    ck_assert_msg(!facts->has_time || facts->local_time_s == 1779030245, "%zu", size);
    ck_assert_msg(facts->fraction_digits == 0 || facts->fraction_ns == 42000000, "%zu", size);
    ck_assert_msg(!facts->has_offset || facts->offset_minutes == 120, "%zu", size);
    ck_assert_msg(!facts->serial[0] || strcmp(facts->serial, "NM-0042") == 0, "%zu", size);
    ck_assert_msg(!facts->model[0] || strcmp(facts->model, "Body A") == 0, "%zu", size);
    ck_assert_msg(facts->rating == HR_RATING_UNKNOWN || facts->rating == 4, "%zu", size);
    ck_assert_msg(facts->width_pixels == 0 || facts->width_pixels == 6000, "%zu", size);
    ck_assert_msg(facts->orientation == 0 || facts->orientation == 6, "%zu", size);
}

START_TEST(truncated_files_give_right_facts_or_none)
{
    for (int i = 0; i < BUILT_PICTURE_COUNT; i++) {
        built_pictures[i].build(&built, false);
        for (size_t whole = built.size; built.size-- > 0;) {
            struct hr_media_facts facts = read_whole(&built);
            assert_equal_or_absent(&facts, built.size);
            facts = read_built(&built, whole, SIZE_MAX);
            assert_equal_or_absent(&facts, built.size);
        }
    }
}
END_TEST

static void assert_knows_nothing(const struct hr_media_facts *facts)
{
    const struct hr_media_facts nothing = {.rating = HR_RATING_UNKNOWN};
    assert_equal_or_absent(facts, 0);
    ck_assert(!facts->has_time && !facts->has_offset);
    ck_assert_str_eq(facts->model, nothing.model);
    ck_assert_int_eq(facts->rating, nothing.rating);
    ck_assert_uint_eq(facts->width_pixels, 0);
}

START_TEST(what_is_no_picture_is_left_after_its_head)
{
    static const char *const heads[] = {"a plain text, neither here nor there", "\x89PNG\r\n\x1a\n0000000000000000",
                                        "II*", "RIFF....WAVEfmt ........"};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++) {
        memset(&built, 0, sizeof built);
        put_bytes(&built, heads[i], strlen(heads[i]));
        struct hr_media_reader *reader = new_reader(built.size);
        uint64_t offset;
        size_t size;
        hr_media_reader_feed(reader, 0, built.bytes, built.size);
        ck_assert(!hr_media_reader_wants(reader, &offset, &size));
        struct hr_media_facts facts = finish(reader);
        assert_knows_nothing(&facts);
    }
    struct hr_media_facts facts = read_built(&built, 0, 1);
    assert_knows_nothing(&facts);
}
END_TEST

START_TEST(directories_in_a_circle_come_to_an_end)
{
    memset(&built, 0, sizeof built);
    tiff_begin(&built, false);
    directory_begin(&built, 8, 3);
    entry(&built, 0x0112, 3, 1, 6);
    entry(&built, 0x014a, 4, 1, 8);   /* SubIFD: this directory */
    entry(&built, 0x8769, 4, 1, 8);   /* Exif directory: this one */
    put_at(&built, 8 + 2 + 36, 8, 4); /* the next: this one */
    struct hr_media_facts facts = read_whole(&built);
    ck_assert_uint_eq(facts.orientation, 6);
}
END_TEST

START_TEST(chains_without_end_come_to_an_end)
{
    memset(&built, 0, sizeof built);
    tiff_begin(&built, false);
    for (size_t at = 8; at + 18 < BUILT_BYTES; at += 18) {
        directory_begin(&built, at, 1);
        entry(&built, 0x0100, 4, 1, 100);
        put_at(&built, at + 14, at + 18, 4);
    }
    struct hr_media_facts facts = read_whole(&built);
    ck_assert_uint_eq(facts.width_pixels, 0);
    /* and a JPEG of nothing but empty segments */
    memset(&built, 0, sizeof built);
    put_bytes(&built, "\xff\xd8", 2);
    while (built.size + 4 <= BUILT_BYTES)
        put_bytes(&built, "\xff\xe0\0\2", 4);
    facts = read_whole(&built);
    assert_knows_nothing(&facts);
    /* and boxes in boxes */
    memset(&built, 0, sizeof built);
    size_t ftyp = box_begin(&built, "ftyp");
    box_end(&built, ftyp);
    while (built.size + 8 <= BUILT_BYTES) {
        size_t free_box = box_begin(&built, "free");
        box_end(&built, free_box);
    }
    facts = read_whole(&built);
    assert_knows_nothing(&facts);
}
END_TEST

START_TEST(lying_counts_and_offsets_are_absent)
{
    static const struct {
        unsigned tag, type;
        uint32_t count, value;
    } lies[] = {
        {0x0110, 2, UINT32_MAX, 100},
        {0x0110, 2, 20, UINT32_MAX},
        {0x0110, 2, 20, 3990},
        {0x0110, 2, 0, 100},
        {0x0110, 77, 4, 0},
        {0x0110, 12, 0x20000000, 100},
        {0x0112, 3, 2, 6},
        {0x0112, 3, 1, 9},
        {0x0112, 2, 1, 6},
        {0x014a, 4, UINT32_MAX, 100},
        {0x014a, 3, 1, 8},
        {0x02bc, 1, UINT32_MAX, 8},
        {0x8769, 4, 1, UINT32_MAX},
        {0x8769, 4, 1, 3999},
        {0x8769, 4, 2, 8},
        {0x8769, 4, 1, 0},
    };
    for (size_t i = 0; i < sizeof lies / sizeof *lies; i++) {
        memset(&built, 0, sizeof built);
        tiff_begin(&built, true);
        directory_begin(&built, 8, 1);
        entry(&built, lies[i].tag, lies[i].type, lies[i].count, lies[i].value);
        put_at(&built, 3999, 0, 1);
        struct hr_media_facts facts = read_whole(&built);
        assert_knows_nothing(&facts);
        ck_assert_uint_eq(facts.orientation, 0);
    }
    memset(&built, 0, sizeof built);
    tiff_begin(&built, true);
    put_at(&built, 8, 0xffff, 2); /* entries */
    put_at(&built, BUILT_BYTES - 1, 0, 1);
    struct hr_media_facts facts = read_whole(&built);
    assert_knows_nothing(&facts);
}
END_TEST

START_TEST(offsets_at_the_far_end_of_64_bits_do_no_harm)
{
    build_heif(&built, false);
    unsigned char *iloc = built.bytes;
    while (memcmp(iloc, "iloc", 4) != 0)
        iloc++;
    memset(iloc + 20, 0xff, 8); /* extent offset and length of the Exif item */
    struct hr_media_facts facts = read_built(&built, UINT64_MAX, SIZE_MAX);
    ck_assert(!facts.has_time);
    ck_assert_int_eq(facts.rating, 4);
    memset(&built, 0, sizeof built);
    size_t box = box_begin(&built, "ftyp");
    put_at(&built, box, 1, 4);
    put(&built, UINT64_MAX - 3, 8);
    facts = read_built(&built, UINT64_MAX, SIZE_MAX);
    assert_knows_nothing(&facts);
}
END_TEST

START_TEST(digitized_time_stands_in_with_its_own_fraction_and_offset)
{
    memset(&built, 0, sizeof built);
    tiff_begin(&built, false);
    directory_begin(&built, 8, 1);
    entry(&built, 0x8769, 4, 1, EXIF_OFFSET);
    directory_begin(&built, EXIF_OFFSET, 6);
    text_entry(&built, 0x9003, "0000:00:00 00:00:00");
    text_entry(&built, 0x9004, "2026:05:17 15:04:05");
    text_entry(&built, 0x9011, "+05:00");
    text_entry(&built, 0x9012, "-01:00");
    text_entry(&built, 0x9291, "99");
    text_entry(&built, 0x9292, "5");
    struct hr_media_facts facts = read_whole(&built);
    ck_assert(facts.has_time);
    ck_assert_int_eq(facts.local_time_s, 1779030245);
    ck_assert_uint_eq(facts.fraction_ns, 500000000);
    ck_assert_int_eq(facts.offset_minutes, -60);
}
END_TEST

static void build_clip(struct built_file *file, uint64_t seconds_since_1904, unsigned version)
{
    memset(file, 0, sizeof *file);
    size_t ftyp = box_begin(file, "ftyp");
    put_bytes(file, "isom\0\0\0\0", 8);
    box_end(file, ftyp);
    size_t mdat = box_begin(file, "mdat"); /* before moov, with a size of 64 bits */
    put_at(file, mdat, 1, 4);
    put(file, 100000, 8);
    file->size = mdat + 100000;
    size_t moov = box_begin(file, "moov"), mvhd = box_begin(file, "mvhd");
    put(file, (uint64_t)version << 24, 4);
    put(file, seconds_since_1904, version == 1 ? 8 : 4);
    file->size += 90;
    box_end(file, mvhd);
    box_end(file, moov);
}

/* Seconds from 1904-01-01 to 1970-01-01: 24107 days (`date -u -d 1904-01-01 +%s` of coreutils 9.1 is -2082844800). */
START_TEST(clips_have_whole_seconds_and_no_offset)
{
    for (unsigned version = 0; version < 2; version++) {
        build_clip(&built, 1779030245u + 2082844800u, version);
        struct hr_media_facts facts = read_whole(&built);
        ck_assert(facts.has_time && !facts.has_offset);
        ck_assert_int_eq(facts.local_time_s, 1779030245);
        ck_assert_uint_eq(facts.fraction_digits, 0);
        build_clip(&built, 0, version);
        facts = read_whole(&built);
        ck_assert(!facts.has_time);
    }
}
END_TEST

HR_SUITE_TIMED("media/media_reader", 120, every_container_gives_every_fact_in_either_byte_order,
               wants_answered_in_small_pieces_give_the_same_facts, a_copy_passing_by_in_order_gives_the_same_facts,
               bytes_that_nobody_asked_for_change_nothing, truncated_files_give_right_facts_or_none,
               what_is_no_picture_is_left_after_its_head, directories_in_a_circle_come_to_an_end,
               chains_without_end_come_to_an_end, lying_counts_and_offsets_are_absent,
               offsets_at_the_far_end_of_64_bits_do_no_harm, digitized_time_stands_in_with_its_own_fraction_and_offset,
               clips_have_whole_seconds_and_no_offset)
