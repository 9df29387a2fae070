/* SPDX-License-Identifier: ISC */
#include "transfer/pace.h"

#include <string.h>

#include "suite.h"

enum { MB = 1000000 };
static const int64_t ms = 1000000;

/* A second of writes of 1 MB, each taking `took_ms`. */
static void write_for_a_while(struct hr_pace *pace, int64_t took_ms, bool shared, int64_t *now_ns)
{
    for (int64_t spent = 0; spent < 1000; spent += took_ms) {
        *now_ns += took_ms * ms;
        hr__pace_saw_write(pace, MB, took_ms * ms, shared, true, *now_ns);
    }
}

/* The first second is a drive's or a throttle's burst: five times as fast. */
static void warm_up(struct hr_pace *pace, int64_t *now_ns)
{
    write_for_a_while(pace, 2, false, now_ns);
}

START_TEST(goes_on_reading_back_where_it_costs_writing_nothing)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    write_for_a_while(&pace, 10, false, &now_ns);
    write_for_a_while(&pace, 11, true, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
    ck_assert(hr__pace_may_read_back(&pace, true, now_ns));
}
END_TEST

START_TEST(yields_where_reading_halves_the_speed_of_writing)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    write_for_a_while(&pace, 10, false, &now_ns);
    write_for_a_while(&pace, 20, true, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD);
    ck_assert(!hr__pace_may_read_back(&pace, true, now_ns));
    ck_assert(hr__pace_may_read_back(&pace, false, now_ns));
}
END_TEST

START_TEST(judges_anew_when_the_drive_changes_its_mind)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    write_for_a_while(&pace, 10, false, &now_ns);
    write_for_a_while(&pace, 20, true, &now_ns);
    now_ns += 16000 * ms;
    ck_assert(!hr__pace_may_read_back(&pace, true, now_ns));
    write_for_a_while(&pace, 10, false, &now_ns);
    ck_assert(hr__pace_may_read_back(&pace, true, now_ns));
    write_for_a_while(&pace, 10, true, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
}
END_TEST

START_TEST(never_reads_back_beside_writing_on_a_disk_with_heads)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    char line[160];
    hr__pace_init(&pace, false, true);
    write_for_a_while(&pace, 10, false, &now_ns);
    write_for_a_while(&pace, 10, true, &now_ns);
    ck_assert(!hr__pace_may_read_back(&pace, true, now_ns + 100000 * ms));
    hr__pace_describe(line, sizeof line, &pace);
    ck_assert_str_eq(line, "read back when not writing: a disk with heads");
}
END_TEST

START_TEST(leaves_the_writer_alone_for_a_while_to_have_something_to_compare_with)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    write_for_a_while(&pace, 250, true, &now_ns);
    ck_assert(!hr__pace_may_read_back(&pace, true, now_ns));
    ck_assert(hr__pace_may_read_back(&pace, false, now_ns));
    write_for_a_while(&pace, 10, false, &now_ns);
    ck_assert(hr__pace_may_read_back(&pace, true, now_ns));
}
END_TEST

START_TEST(does_not_hold_a_writer_that_waits_for_the_card_for_slow)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    for (int i = 0; i < 1000; i++) {
        now_ns += 10 * ms;
        hr__pace_saw_write(&pace, MB, i % 2 ? 2 * ms : 9 * ms, i % 2 == 0, false, now_ns);
    }
    ck_assert(!pace.is_judged);
    ck_assert(hr__pace_may_read_back(&pace, true, now_ns));
}
END_TEST

START_TEST(does_not_judge_from_a_few_writes)
{
    struct hr_pace pace;
    char line[160];
    hr__pace_init(&pace, false, false);
    hr__pace_saw_write(&pace, MB, 10 * ms, false, true, 10 * ms);
    hr__pace_saw_write(&pace, MB, 90 * ms, true, true, 100 * ms);
    hr__pace_describe(line, sizeof line, &pace);
    ck_assert_str_eq(line, "read back while writing: too little was written to judge");
}
END_TEST

HR_SUITE("transfer/pace", goes_on_reading_back_where_it_costs_writing_nothing,
         yields_where_reading_halves_the_speed_of_writing, judges_anew_when_the_drive_changes_its_mind,
         never_reads_back_beside_writing_on_a_disk_with_heads,
         leaves_the_writer_alone_for_a_while_to_have_something_to_compare_with,
         does_not_hold_a_writer_that_waits_for_the_card_for_slow, does_not_judge_from_a_few_writes)
