/* SPDX-License-Identifier: ISC */
/* Which previews are kept. That each container's are found is in test_media_reader.c and camera_facts.sh. */
#include <headrace/media.h>

#include "built_pictures.h"
#include "read_built.h"
#include "suite.h"

enum { DIRECTORY_SIZE = 2 + 4 * 12 + 4, FILE_SIZE = 5000 };

static struct built_file built;

/* A chain of directories, each with a preview: as JPEGInterchangeFormat, or in a strip. */
static void build_chain(const uint32_t (*previews)[2], size_t count, uint32_t subfile, uint32_t strip_compression)
{
    memset(&built, 0, sizeof built);
    tiff_begin(&built, true);
    for (size_t i = 0; i < count; i++) {
        size_t at = 8 + i * DIRECTORY_SIZE;
        directory_begin(&built, at, 4);
        entry(&built, 0x00fe, 4, 1, subfile);
        entry(&built, 0x0103, 3, 1, strip_compression ? strip_compression : 6);
        entry(&built, strip_compression ? 0x0111 : 0x0201, 4, 1, previews[i][0]);
        entry(&built, strip_compression ? 0x0117 : 0x0202, 4, 1, previews[i][1]);
        put_at(&built, at + DIRECTORY_SIZE - 4, i + 1 < count ? at + DIRECTORY_SIZE : 0, 4);
    }
    built.size = FILE_SIZE;
}

static void assert_previews(const struct hr_media_facts *facts, const uint32_t (*expected)[2], size_t count)
{
    ck_assert_uint_eq(facts->preview_count, count);
    for (size_t i = 0; i < count; i++) {
        ck_assert_uint_eq(facts->previews[i].offset, expected[i][0]);
        ck_assert_uint_eq(facts->previews[i].size_bytes, expected[i][1]);
    }
}

START_TEST(the_four_largest_are_kept_each_once_the_largest_first)
{
    static const uint32_t previews[][2] = {{2000, 20}, {2100, 60}, {2200, 10}, {2300, 40},
                                           {2100, 60}, {2400, 50}, {2500, 30}};
    static const uint32_t expected[][2] = {{2100, 60}, {2400, 50}, {2300, 40}, {2500, 30}};
    build_chain(previews, 7, 1, 0);
    struct hr_media_facts facts = read_whole(&built);
    assert_previews(&facts, expected, 4);
}
END_TEST

START_TEST(one_that_does_not_lie_within_the_file_is_left_out)
{
    static const uint32_t previews[][2] = {{4000, 1001}, {4000, 1000}, {FILE_SIZE, 1}, {UINT32_MAX, UINT32_MAX},
                                           {3000, 0},    {0, 9}};
    static const uint32_t expected[][2] = {{4000, 1000}};
    build_chain(previews, 6, 1, 0);
    struct hr_media_facts facts = read_whole(&built);
    assert_previews(&facts, expected, 1);
}
END_TEST

START_TEST(one_past_where_the_file_turns_out_to_end_is_left_out)
{
    static const uint32_t previews[][2] = {{900, 90}, {80000, 1000}};
    build_chain(previews, 2, 1, 0);
    put_at(&built, 8 + 2 * DIRECTORY_SIZE - 4, 70000, 4); /* a directory to find the end by */
    built.size = 60000;
    struct hr_media_facts facts = read_built(&built, 100000, SIZE_MAX);
    assert_previews(&facts, previews, 1);
}
END_TEST

/* TIFF compression 7 and 6 are JPEG; raws keep their picture in a strip of lossless JPEG (DNG 1.6 of the field's own
 * specification; .cr2 as seen in files). */
START_TEST(a_strip_of_jpeg_is_a_preview_where_it_is_a_reduced_copy)
{
    static const uint32_t strips[][2] = {{2000, 20}, {2100, 30}};
    static const uint32_t larger_first[][2] = {{2100, 30}, {2000, 20}};
    build_chain(strips, 2, 1, 7);
    struct hr_media_facts facts = read_whole(&built);
    assert_previews(&facts, larger_first, 2);
    build_chain(strips, 2, 0, 7);
    facts = read_whole(&built);
    assert_previews(&facts, NULL, 0);
    build_chain(strips, 2, 0, 6);
    facts = read_whole(&built);
    assert_previews(&facts, strips, 1);
    build_chain(strips, 2, 1, 1);
    facts = read_whole(&built);
    assert_previews(&facts, NULL, 0);
}
END_TEST

START_TEST(the_picture_of_a_jpeg_file_is_no_preview_of_itself)
{
    build_jpeg(&built, true);
    struct hr_media_facts facts = read_whole(&built);
    for (size_t i = 0; i < facts.preview_count; i++)
        ck_assert_uint_gt(facts.previews[i].offset, 0);
}
END_TEST

HR_SUITE("media/previews", the_four_largest_are_kept_each_once_the_largest_first,
         one_that_does_not_lie_within_the_file_is_left_out, one_past_where_the_file_turns_out_to_end_is_left_out,
         a_strip_of_jpeg_is_a_preview_where_it_is_a_reduced_copy, the_picture_of_a_jpeg_file_is_no_preview_of_itself)
