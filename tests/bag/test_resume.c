/* SPDX-License-Identifier: ISC */
/* Going on with interrupted bags: looking at one, taking it over, sweeping it. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "bag_fixture.h"
#include "suite.h"

static struct yard yard;

static void begin(void)
{
    setenv("TZ", "UTC", 1);
    yard_begin(&yard);
}

static bool is_part(void *context, const char *path)
{
    size_t length = strlen(path);
    (void)context;
    return length > 5 && !strcmp(path + length - 5, ".part");
}

START_TEST(resumes_where_the_last_run_stopped)
{
    begin();
    struct hr_bag *bag = yard_create(&yard);
    size_t count = 1;
    ck_assert_ptr_null(hr_bag_files(bag, &count));
    ck_assert_uint_eq(count, 0);
    yard_deliver(bag, "DCIM/a.jpg", "a", true, true);
    yard_deliver(bag, "DCIM/b.jpg", "b", true, true);
    ck_assert_int_eq(hr_bag_note_throughput(bag, "elapsed_s,bytes\n1,1", NULL), HR_OK);
    hr_bag_close(bag);
    yard_expect(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"), HR_BAG_UNFINISHED);

    yard.label.started_wall_ns += 60000000000;
    bag = yard_resume(&yard);
    ck_assert_str_eq(hr_bag_path(bag), yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"));
    hr_bag_files(bag, &count);
    ck_assert_uint_eq(count, 2);
    ck_assert_ptr_nonnull(hr_bag_find(bag, "DCIM/b.jpg"));
    ck_assert_ptr_null(hr_bag_find(bag, "DCIM/c.jpg"));
    yard_deliver(bag, "DCIM/c.jpg", "c", true, true);
    ck_assert_int_eq(hr_bag_note_throughput(bag, "elapsed_s,bytes\n1,2", NULL), HR_OK);
    yard_finish(bag);
    ck_assert_str_eq(yard_read(&yard, "place/Cup final/20251009-085320_BODY_A/throughput.csv"),
                     "elapsed_s,bytes\n1,1\n1,2\n");
    yard_expect(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"), HR_BAG_VALID);
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_NOT_FOUND);
    yard_end(&yard);
}
END_TEST

START_TEST(resumes_the_newest_of_this_card_alone)
{
    begin();
    static const int64_t second = 1000000000;
    struct hr_bag *bag = NULL;
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_NOT_FOUND);
    for (int i = 0; i < 3; i++) {
        struct yard other = yard;
        other.label.started_wall_ns += i * second;
        if (i == 2)
            other.label.card_identity = "uuid:another card";
        bag = yard_create(&other);
        yard_deliver(bag, "a.jpg", "a", true, true);
        hr_bag_close(bag);
    }
    bag = yard_resume(&yard);
    ck_assert_str_eq(hr_bag_path(bag), yard_path(&yard, "place/Cup final/20251009-085321_BODY_A"));
    hr_bag_close(bag);
    yard.label.card_identity = "uuid:a third";
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_NOT_FOUND);
    yard_end(&yard);
}
END_TEST

START_TEST(is_busy_while_another_run_writes_it)
{
    begin();
    struct hr_bag *bag = yard_create(&yard), *other = NULL;
    yard_deliver(bag, "a.jpg", "a", true, true);
    ck_assert_int_eq(hr_bag_look(&other, yard.place, &yard.label, NULL), HR_BUSY);
    hr_bag_close(bag);
    other = yard_resume(&yard);
    hr_bag_close(other);
    ck_assert(yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/data/a.jpg"));
    yard_end(&yard);
}
END_TEST

START_TEST(drops_rows_whose_file_is_gone_or_of_another_size)
{
    begin();
    size_t count;
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    yard_deliver(bag, "b.jpg", "b", true, true);
    yard_deliver(bag, "c.jpg", "c", true, true);
    yard_deliver(bag, "d.jpg", "d", true, true);
    hr_bag_close(bag);
    yard_remove(&yard, "place/Cup final/20251009-085320_BODY_A/data/a.jpg");
    yard_write(&yard, "place/Cup final/20251009-085320_BODY_A/data/b.jpg", "longer");
    yard_remove(&yard, "place/Cup final/20251009-085320_BODY_A/data/c.jpg");
    ck_assert_int_eq(symlink("d.jpg", yard_path(&yard, "place/Cup final/20251009-085320_BODY_A/data/c.jpg")), 0);
    bag = yard_resume(&yard);
    hr_bag_files(bag, &count);
    ck_assert_uint_eq(count, 1);
    ck_assert_ptr_nonnull(hr_bag_find(bag, "d.jpg"));
    hr_bag_close(bag);
    /* The journal was rewritten: what was dropped does not come back when the file does. */
    yard_write(&yard, "place/Cup final/20251009-085320_BODY_A/data/a.jpg", "a");
    bag = yard_resume(&yard);
    ck_assert_ptr_null(hr_bag_find(bag, "a.jpg"));
    hr_bag_close(bag);
    yard_end(&yard);
}
END_TEST

START_TEST(goes_on_after_a_torn_row_and_after_a_lost_journal)
{
    begin();
    static const char journal[] = "place/Cup final/20251009-085320_BODY_A/.files.csv.part";
    char torn[4096];
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    hr_bag_close(bag);
    snprintf(torn, sizeof torn, "%sb.jpg,1,175999", yard_read(&yard, journal));
    yard_write(&yard, journal, torn);
    bag = yard_resume(&yard);
    yard_deliver(bag, "c.jpg", "c", true, true);
    hr_bag_close(bag);
    bag = yard_resume(&yard);
    ck_assert_ptr_nonnull(hr_bag_find(bag, "a.jpg"));
    ck_assert_ptr_nonnull(hr_bag_find(bag, "c.jpg"));
    hr_bag_close(bag);
    yard_remove(&yard, journal);
    bag = yard_resume(&yard);
    ck_assert_ptr_null(hr_bag_find(bag, "a.jpg"));
    yard_deliver(bag, "a.jpg", "a", true, true);
    yard_deliver(bag, "c.jpg", "c", true, true);
    yard_finish(bag);
    yard_expect(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

/* The bag as it was left: a finishing cut short before its last name, and a journal with a torn row. */
static void leave_damaged(void)
{
    char text[4096];
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    yard_deliver(bag, "b.jpg", "b", true, true);
    yard_finish(bag);
    yard_remove(&yard, "place/Cup final/20251009-085320_BODY_A/bagit.txt");
    snprintf(text, sizeof text, "%sc.jpg,1,175", yard_read(&yard, "place/Cup final/20251009-085320_BODY_A/files.csv"));
    yard_write(&yard, "place/Cup final/20251009-085320_BODY_A/files.csv", text);
}

START_TEST(is_looked_at_without_being_touched)
{
    begin();
    size_t count;
    struct hr_bag *bag = NULL;
    leave_damaged();
    char *before = strdup(yard_facts(&yard, "place"));
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_OK);
    hr_bag_files(bag, &count);
    ck_assert_uint_eq(count, 2);
    ck_assert_ptr_nonnull(hr_bag_find(bag, "b.jpg"));
    hr_bag_close(bag);
    ck_assert_str_eq(yard_facts(&yard, "place"), before);
    free(before);
    bag = yard_resume(&yard);
    ck_assert(yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/.files.csv.part"));
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/manifest-sha256.txt"));
    yard_finish(bag);
    yard_expect(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(is_looked_at_though_its_payload_is_gone)
{
    begin();
    size_t count;
    struct hr_bag *bag = NULL;
    leave_damaged();
    yard_rename(&yard, "place/Cup final/20251009-085320_BODY_A/data", "elsewhere");
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_OK);
    hr_bag_files(bag, &count);
    ck_assert_uint_eq(count, 0);
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/data"));
    ck_assert_int_eq(hr_bag_resume(bag, NULL), HR_OK);
    ck_assert(yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/data"));
    hr_bag_close(bag);
    yard_end(&yard);
}
END_TEST

START_TEST(forgets_its_rows_and_reads_them_again)
{
    begin();
    size_t count;
    struct hr_bag *bag = NULL;
    leave_damaged();
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_OK);
    hr_bag_forget_files(bag);
    ck_assert_ptr_null(hr_bag_files(bag, &count));
    ck_assert_ptr_null(hr_bag_find(bag, "a.jpg"));
    ck_assert_int_eq(hr_bag_resume(bag, NULL), HR_OK);
    ck_assert_ptr_nonnull(hr_bag_find(bag, "a.jpg"));
    hr_bag_close(bag);
    yard_end(&yard);
}
END_TEST

/* Whoever looked believes the file is there: going on quietly would lose it. */
START_TEST(is_not_gone_on_with_when_its_files_changed_since_the_look)
{
    begin();
    struct hr_bag *bag = NULL;
    leave_damaged();
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_OK);
    yard_remove(&yard, "place/Cup final/20251009-085320_BODY_A/data/a.jpg");
    ck_assert_int_eq(hr_bag_resume(bag, NULL), HR_DIFFERS);
    hr_bag_close(bag);
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_OK);
    ck_assert_ptr_null(hr_bag_find(bag, "a.jpg"));
    yard_write(&yard, "place/Cup final/20251009-085320_BODY_A/data/c.jpg", "c");
    ck_assert_int_eq(hr_bag_resume(bag, NULL), HR_DIFFERS);
    hr_bag_close(bag);
    bag = yard_resume(&yard);
    hr_bag_close(bag);
    yard_end(&yard);
}
END_TEST

START_TEST(tells_what_nobody_recorded_and_sweeps_temporary_names)
{
    begin();
    size_t count = 0;
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "DCIM/a.jpg", "a", true, true);
    yard_deliver(bag, "DCIM/b.jpg", "b", true, false);
    yard_deliver(bag, "DCIM/.c.jpg.part", "half", true, false);
    hr_bag_close(bag);
    ck_assert_int_eq(hr_bag_look(&bag, yard.place, &yard.label, NULL), HR_OK);
    char *const *loose = hr_bag_loose(bag, &count);
    ck_assert_uint_eq(count, 2);
    ck_assert_str_eq(loose[0], "DCIM/.c.jpg.part");
    ck_assert_str_eq(loose[1], "DCIM/b.jpg");
    ck_assert_int_eq(hr_bag_resume(bag, NULL), HR_OK);
    ck_assert_int_eq(hr_bag_sweep(bag, is_part, NULL, NULL), HR_OK);
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/data/DCIM/.c.jpg.part"));
    ck_assert(yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/data/DCIM/b.jpg"));
    hr_bag_forget_files(bag);
    ck_assert_ptr_null(hr_bag_loose(bag, &count));
    hr_bag_close(bag);
    yard_end(&yard);
}
END_TEST

/* What a power cut or a kill leaves of a bag whose making it cut off: nobody can go on with it. */
START_TEST(takes_away_bags_whose_making_was_cut_off)
{
    begin();
    yard_write(&yard, "place/Cup final/20251009-080000_BODY_A/.bag-info.txt.part", "");
    yard_write(&yard, "place/Cup final/20251009-080001_BODY_A/..bag-info.txt.part.part", "External-Id");
    yard_write(&yard, "place/Cup final/20251009-080002_BODY_B/.files.csv.part", "");
    ck_assert_int_eq(mkdir(yard_path(&yard, "place/Cup final/20251009-080002_BODY_B/data"), 0777), 0);
    ck_assert_int_eq(mkdir(yard_path(&yard, "place/Cup final/20251009-080003_BODY_A"), 0777), 0);
    yard_write(&yard, "place/Cup final/20251009-080004_BODY_A/.bag-info.txt.part", "External-Identifier: another\n");
    yard_write(&yard, "place/Cup final/20251009-080005_BODY_A/data/DCIM/a.jpg", "a");
    yard_write(&yard, "place/Cup final/20251009-080006_BODY_A/notes.txt", "mine");
    ck_assert_int_eq(mkdir(yard_path(&yard, "place/Cup final/selects"), 0777), 0);
    struct hr_bag *bag = yard_create(&yard);
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-080000_BODY_A"));
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-080001_BODY_A"));
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-080002_BODY_B"));
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-080003_BODY_A"));
    ck_assert(yard_stands(&yard, "place/Cup final/20251009-080004_BODY_A/.bag-info.txt.part"));
    ck_assert(yard_stands(&yard, "place/Cup final/20251009-080005_BODY_A/data/DCIM/a.jpg"));
    ck_assert(yard_stands(&yard, "place/Cup final/20251009-080006_BODY_A/notes.txt"));
    ck_assert(yard_stands(&yard, "place/Cup final/selects"));
    hr_bag_close(bag);
    yard_end(&yard);
}
END_TEST

HR_SUITE("bag/resume", resumes_where_the_last_run_stopped, resumes_the_newest_of_this_card_alone,
         is_busy_while_another_run_writes_it, drops_rows_whose_file_is_gone_or_of_another_size,
         goes_on_after_a_torn_row_and_after_a_lost_journal, is_looked_at_without_being_touched,
         is_looked_at_though_its_payload_is_gone, forgets_its_rows_and_reads_them_again,
         is_not_gone_on_with_when_its_files_changed_since_the_look,
         tells_what_nobody_recorded_and_sweeps_temporary_names, takes_away_bags_whose_making_was_cut_off)
