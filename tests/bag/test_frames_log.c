/* SPDX-License-Identifier: ISC */
/* frames.csv: noted while a bag is being filled, a tag file once it is finished. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "bag_fixture.h"
#include "suite.h"

#define BAG "place/Cup final/20251009-085320_BODY_A"
#define HEADER "path,time_ns"

static struct yard yard;

static struct hr_bag *begin(void)
{
    setenv("TZ", "UTC", 1);
    yard_begin(&yard);
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    return bag;
}

static void note(struct hr_bag *bag, const char *line)
{
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_bag_note_frame(bag, line, &fault), "%s", fault.text);
}

START_TEST(becomes_a_tag_file_that_the_bag_vouches_for)
{
    struct hr_bag *bag = begin();
    note(bag, HEADER);
    note(bag, "a.jpg,1");
    note(bag, "a.jpg,2");
    yard_finish(bag);
    ck_assert_str_eq(yard_read(&yard, BAG "/frames.csv"), HEADER "\na.jpg,1\na.jpg,2\n");
    ck_assert(!yard_stands(&yard, BAG "/.frames.csv.part"));
    ck_assert_ptr_nonnull(strstr(yard_read(&yard, BAG "/tagmanifest-sha256.txt"), "  frames.csv\n"));
    yard_expect(yard_path(&yard, BAG), HR_BAG_VALID);
    yard_write(&yard, BAG "/frames.csv", HEADER "\na.jpg,1\na.jpg,3\n");
    yard_expect(yard_path(&yard, BAG), HR_BAG_INVALID);
    yard_end(&yard);
}
END_TEST

START_TEST(is_not_there_when_nothing_was_noted)
{
    struct hr_bag *bag = begin();
    yard_finish(bag);
    ck_assert(!yard_stands(&yard, BAG "/frames.csv"));
    ck_assert_ptr_null(strstr(yard_read(&yard, BAG "/tagmanifest-sha256.txt"), "frames.csv"));
    yard_expect(yard_path(&yard, BAG), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(goes_with_a_bag_that_held_nothing)
{
    setenv("TZ", "UTC", 1);
    yard_begin(&yard);
    struct hr_bag *bag = yard_create(&yard);
    note(bag, HEADER);
    hr_bag_close(bag);
    ck_assert(!yard_stands(&yard, "place/Cup final"));
    yard_end(&yard);
}
END_TEST

START_TEST(is_gone_on_with_under_one_header)
{
    struct hr_bag *bag = begin();
    note(bag, HEADER);
    note(bag, "a.jpg,1");
    hr_bag_close(bag);
    ck_assert_str_eq(yard_read(&yard, BAG "/.frames.csv.part"), HEADER "\na.jpg,1\n");
    bag = yard_resume(&yard);
    yard_deliver(bag, "b.jpg", "b", true, true);
    note(bag, HEADER);
    note(bag, "b.jpg,2");
    yard_finish(bag);
    ck_assert_str_eq(yard_read(&yard, BAG "/frames.csv"), HEADER "\na.jpg,1\nb.jpg,2\n");
    yard_expect(yard_path(&yard, BAG), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(goes_on_below_a_line_that_was_torn)
{
    struct hr_bag *bag = begin();
    hr_bag_close(bag);
    yard_write(&yard, BAG "/.frames.csv.part", HEADER "\na.jpg,1\nb.j");
    bag = yard_resume(&yard);
    note(bag, HEADER);
    note(bag, "b.jpg,2");
    yard_finish(bag);
    ck_assert_str_eq(yard_read(&yard, BAG "/frames.csv"), HEADER "\na.jpg,1\nb.j\nb.jpg,2\n");
    yard_end(&yard);
}
END_TEST

START_TEST(is_taken_back_with_a_finishing_that_was_cut_short)
{
    struct hr_bag *bag = begin();
    note(bag, HEADER);
    note(bag, "a.jpg,1");
    yard_finish(bag);
    yard_remove(&yard, BAG "/bagit.txt");
    bag = yard_resume(&yard);
    ck_assert(!yard_stands(&yard, BAG "/frames.csv"));
    note(bag, HEADER);
    note(bag, "a.jpg,2");
    yard_finish(bag);
    ck_assert_str_eq(yard_read(&yard, BAG "/frames.csv"), HEADER "\na.jpg,1\na.jpg,2\n");
    yard_expect(yard_path(&yard, BAG), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(is_finished_though_the_last_run_noted_nothing)
{
    struct hr_bag *bag = begin();
    note(bag, HEADER);
    note(bag, "a.jpg,1");
    hr_bag_close(bag);
    yard_finish(yard_resume(&yard));
    ck_assert_str_eq(yard_read(&yard, BAG "/frames.csv"), HEADER "\na.jpg,1\n");
    yard_end(&yard);
}
END_TEST

static long long written_bytes(void)
{
    struct stat stat_of;
    ck_assert_int_eq(stat(yard_path(&yard, BAG "/.frames.csv.part"), &stat_of), 0);
    return (long long)stat_of.st_size;
}

START_TEST(is_written_in_pieces_of_64_kib_and_never_more_is_kept)
{
    char line[1001];
    struct hr_bag *bag = begin();
    memset(line, 'x', sizeof line - 1);
    line[sizeof line - 1] = '\0';
    note(bag, HEADER);
    for (int i = 0; i < 65; i++)
        note(bag, line);
    ck_assert_int_eq(written_bytes(), 0); /* 13 + 65 * 1001 = 65078 < 65536 */
    note(bag, line);
    ck_assert_int_eq(written_bytes(), 13 + 66 * 1001);
    hr_bag_close(bag);
    yard_end(&yard);
}
END_TEST

START_TEST(refuses_a_line_past_its_ceiling_and_takes_the_next)
{
    static char line[1 << 18];
    struct hr_bag *bag = begin();
    memset(line, 'x', sizeof line - 1);
    note(bag, HEADER);
    ck_assert_int_eq(hr_bag_note_frame(bag, line, NULL), HR_TOO_LARGE);
    note(bag, "a.jpg,1");
    yard_finish(bag);
    ck_assert_str_eq(yard_read(&yard, BAG "/frames.csv"), HEADER "\na.jpg,1\n");
    yard_end(&yard);
}
END_TEST

HR_SUITE("bag/frames_log", becomes_a_tag_file_that_the_bag_vouches_for, is_not_there_when_nothing_was_noted,
         goes_with_a_bag_that_held_nothing, is_gone_on_with_under_one_header, goes_on_below_a_line_that_was_torn,
         is_taken_back_with_a_finishing_that_was_cut_short, is_finished_though_the_last_run_noted_nothing,
         is_written_in_pieces_of_64_kib_and_never_more_is_kept, refuses_a_line_past_its_ceiling_and_takes_the_next)
