/* SPDX-License-Identifier: ISC */
/* What bags say they hold: ours, finished or not, and others'. Digests are made by the library itself; what they must
 * be is checked in tests/digest. */
#include <stdio.h>
#include <string.h>

#include "bag_fixture.h"
#include "suite.h"

#define BAG "place/Cup final/20251009-085320_BODY_A"
#define V1 "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"

static struct yard yard;

static void begin(void)
{
    setenv("TZ", "UTC", 1);
    yard_begin(&yard);
}

static struct hr_bag_listing *list(const char *path)
{
    struct hr_bag_listing *listing = NULL;
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_bag_list(&listing, yard_path(&yard, path), &fault), "%s", fault.text);
    return listing;
}

static void expect_hex(const struct hr_digest *digest, const char *hex)
{
    char text[HR_DIGEST_HEX_SIZE];
    ck_assert_str_eq(hr_digest_to_hex(text, digest), hex);
}

START_TEST(lists_the_rows_of_a_finished_bag_of_ours)
{
    begin();
    const char *path = yard_three_files(&yard, true);
    struct hr_bag_listing *listing = list(BAG);
    ck_assert_str_eq(listing->path, path);
    ck_assert_str_eq(listing->place, yard_path(&yard, "place"));
    ck_assert_str_eq(listing->job, "Cup final");
    ck_assert_str_eq(listing->card_identity, "uuid:1B2C-3D4E");
    ck_assert(listing->is_ours && listing->is_finished);
    ck_assert_uint_eq(listing->file_count, 3);
    ck_assert_str_eq(listing->files[0].path, "DCIM/100NORTH/NM_A0001.DNG");
    ck_assert_str_eq(listing->files[1].path, "DCIM/100NORTH/NM_A0001.JPG");
    ck_assert_str_eq(listing->files[2].path, "MISC/NOTES.TXT");
    ck_assert_uint_eq(listing->files[1].size_bytes, strlen("the push-back"));
    ck_assert_int_eq(listing->files[1].modified_ns, 1759990000123456789);
    expect_hex(&listing->files[1].xxh128, yard_hex(HR_DIGEST_XXH128, "the push-back"));
    expect_hex(&listing->files[1].sha256, yard_hex(HR_DIGEST_SHA256, "the push-back"));
    ck_assert_uint_eq(listing->frame_line_count, 0);
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

static void expect_frames(const struct hr_bag_listing *listing, size_t count, const char *const *lines)
{
    ck_assert_uint_eq(listing->frame_line_count, count);
    for (size_t i = 0; i < count; i++)
        ck_assert_str_eq(listing->frame_lines[i], lines[i]);
}

START_TEST(lists_the_frames_of_unfinished_and_finished_bags)
{
    static const char *const lines[] = {"a.jpg,1", "\"a,b.jpg\",2"};
    begin();
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    ck_assert_int_eq(hr_bag_note_frame(bag, "path,time_ns", NULL), HR_OK);
    for (size_t i = 0; i < 2; i++)
        ck_assert_int_eq(hr_bag_note_frame(bag, lines[i], NULL), HR_OK);
    hr_bag_close(bag);
    struct hr_bag_listing *listing = list(BAG);
    ck_assert(listing->is_ours && !listing->is_finished);
    ck_assert_str_eq(listing->job, "Cup final");
    ck_assert_str_eq(listing->card_identity, "uuid:1B2C-3D4E");
    ck_assert_uint_eq(listing->file_count, 1);
    expect_frames(listing, 2, lines);
    hr_bag_listing_destroy(listing);

    yard_finish(yard_resume(&yard));
    listing = list(BAG);
    ck_assert(listing->is_finished);
    expect_frames(listing, 2, lines);
    hr_bag_listing_destroy(listing);

    yard_remove(&yard, BAG "/bagit.txt"); /* a finishing that was cut short */
    listing = list(BAG);
    ck_assert(!listing->is_finished);
    ck_assert_uint_eq(listing->file_count, 1);
    expect_frames(listing, 2, lines);
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

START_TEST(leaves_out_frame_lines_that_are_empty_or_torn)
{
    static const char *const lines[] = {"a.jpg,1", "b.j", "c.jpg,3"};
    begin();
    yard_three_files(&yard, true);
    yard_write(&yard, BAG "/frames.csv", "path,time_ns\na.jpg,1\n\nb.j\nc.jpg,3\nd.jp");
    struct hr_bag_listing *listing = list(BAG);
    expect_frames(listing, 3, lines);
    hr_bag_listing_destroy(listing);
    yard_write(&yard, BAG "/frames.csv", "");
    listing = list(BAG);
    expect_frames(listing, 0, NULL);
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

/* RFC 8493 sections 2.1.3 and 2.2: any bag with a declaration, data/ and a manifest. */
START_TEST(lists_what_the_manifests_of_others_bags_say)
{
    char manifest[512];
    begin();
    yard_write(&yard, "other/bagit.txt", V1);
    yard_write(&yard, "other/bag-info.txt", "External-Identifier: NM-7\n");
    snprintf(manifest, sizeof manifest, "%s  data/b.jpg\n%s  data/a%%0Ac.jpg\n", yard_hex(HR_DIGEST_SHA256, "b"),
             yard_hex(HR_DIGEST_SHA256, "a"));
    yard_write(&yard, "other/manifest-sha256.txt", manifest);
    struct hr_bag_listing *listing = list("other");
    ck_assert(!listing->is_ours && listing->is_finished);
    ck_assert_str_eq(listing->job, "");
    ck_assert_str_eq(listing->place, yard.root);
    ck_assert_str_eq(listing->card_identity, "NM-7");
    ck_assert_uint_eq(listing->file_count, 2);
    ck_assert_str_eq(listing->files[0].path, "a\nc.jpg");
    ck_assert_str_eq(listing->files[1].path, "b.jpg");
    expect_hex(&listing->files[1].sha256, yard_hex(HR_DIGEST_SHA256, "b"));
    ck_assert_int_eq(listing->files[1].xxh128.kind, HR_DIGEST_NONE);
    ck_assert_uint_eq(listing->frame_line_count, 0);
    hr_bag_listing_destroy(listing);

    yard_remove(&yard, "other/bag-info.txt");
    yard_remove(&yard, "other/manifest-sha256.txt");
    yard_write(&yard, "other/manifest-md5.txt", "900150983cd24fb0d6963f7d28e17f72  data/abc.jpg\n"); /* RFC 1321 */
    listing = list("other");
    ck_assert_uint_eq(listing->file_count, 1);
    ck_assert_str_eq(listing->files[0].path, "abc.jpg");
    ck_assert_int_eq(listing->files[0].xxh128.kind, HR_DIGEST_NONE);
    ck_assert_int_eq(listing->files[0].sha256.kind, HR_DIGEST_NONE);
    ck_assert_str_eq(listing->card_identity, "");
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

START_TEST(lists_no_path_that_leaves_the_bag)
{
    begin();
    yard_write(&yard, "other/bagit.txt", V1);
    yard_write(&yard, "other/manifest-md5.txt",
               "900150983cd24fb0d6963f7d28e17f72  data/../../etc/passwd\n"
               "900150983cd24fb0d6963f7d28e17f72  /etc/passwd\n"
               "900150983cd24fb0d6963f7d28e17f72  data/abc.jpg\n");
    struct hr_bag_listing *listing = list("other");
    ck_assert_uint_eq(listing->file_count, 1);
    ck_assert_str_eq(listing->files[0].path, "abc.jpg");
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

START_TEST(goes_by_the_manifests_where_rows_of_a_finished_bag_are_lost)
{
    begin();
    yard_three_files(&yard, true);
    yard_write(&yard, BAG "/files.csv", "nothing of ours\n");
    struct hr_bag_listing *listing = list(BAG);
    ck_assert(listing->is_ours);
    ck_assert_uint_eq(listing->file_count, 3);
    ck_assert_str_eq(listing->files[2].path, "MISC/NOTES.TXT");
    expect_hex(&listing->files[2].xxh128, yard_hex(HR_DIGEST_XXH128, ""));
    expect_hex(&listing->files[2].sha256, yard_hex(HR_DIGEST_SHA256, ""));
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

START_TEST(lists_nothing_where_there_is_no_bag_or_nothing_to_go_by)
{
    begin();
    struct hr_bag_listing *listing = NULL;
    ck_assert_int_eq(hr_bag_list(&listing, yard.place, NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr_bag_list(&listing, yard_path(&yard, "nowhere"), NULL), HR_NOT_FOUND);
    yard_write(&yard, "other/bagit.txt", V1);
    ck_assert_int_eq(hr_bag_list(&listing, yard_path(&yard, "other"), NULL), HR_MALFORMED);
    ck_assert_ptr_null(listing);
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

START_TEST(writes_nothing)
{
    begin();
    yard_three_files(&yard, true);
    char before[4096];
    snprintf(before, sizeof before, "%s", yard_facts(&yard, "place"));
    hr_bag_listing_destroy(list(BAG));
    ck_assert_str_eq(yard_facts(&yard, "place"), before);
    yard_end(&yard);
}
END_TEST

HR_SUITE("bag/list", lists_the_rows_of_a_finished_bag_of_ours, lists_the_frames_of_unfinished_and_finished_bags,
         leaves_out_frame_lines_that_are_empty_or_torn, lists_what_the_manifests_of_others_bags_say,
         lists_no_path_that_leaves_the_bag, goes_by_the_manifests_where_rows_of_a_finished_bag_are_lost,
         lists_nothing_where_there_is_no_bag_or_nothing_to_go_by, writes_nothing)
