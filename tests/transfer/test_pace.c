/* SPDX-License-Identifier: ISC */
#include "transfer/pace.h"

#include <string.h>

#include "suite.h"

enum { MB = 1000000 };
static const int64_t ms = 1000000;

static void saw_write(struct hr_pace *pace, int64_t took_ns, bool is_shared, bool is_backed_up, int64_t *now_ns)
{
    *now_ns += took_ns;
    hr__pace_saw_write(
        pace,
        &(struct hr_pace_write){.bytes = MB, .took_ns = took_ns, .is_shared = is_shared, .is_backed_up = is_backed_up},
        *now_ns);
}

static bool may_read_back(const struct hr_pace *pace, bool is_writing, uint64_t backlog_mb, int64_t now_ns)
{
    struct hr_pace_now now = {.at_ns = now_ns, .is_writing = is_writing, .backlog_bytes = backlog_mb * MB};
    return hr__pace_may_read_back(pace, &now);
}

/* A second of writes of 1 MB, each taking `took_ms`, with `read_mb` read back beside each. */
static void write_for_a_while(struct hr_pace *pace, int64_t took_ms, unsigned read_mb, int64_t *now_ns)
{
    for (int64_t spent = 0; spent < 1000; spent += took_ms) {
        if (read_mb)
            hr__pace_saw_read(pace, read_mb * MB, *now_ns);
        saw_write(pace, took_ms * ms, read_mb > 0, true, now_ns);
    }
}

/* A drive's or a throttle's burst at the beginning: five times as fast. */
static void warm_up(struct hr_pace *pace, int64_t *now_ns)
{
    for (int i = 0; i < 500; i++)
        saw_write(pace, 2 * ms, false, true, now_ns);
}

/* A pace that met writes of `alone_ms`, then of `shared_ms` with `read_mb` read back beside each. */
static struct hr_pace judged(int64_t alone_ms, int64_t shared_ms, unsigned read_mb, int64_t *now_ns)
{
    struct hr_pace pace;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, now_ns);
    write_for_a_while(&pace, alone_ms, 0, now_ns);
    write_for_a_while(&pace, shared_ms, read_mb, now_ns);
    return pace;
}

START_TEST(goes_on_reading_back_where_it_costs_writing_nothing)
{
    int64_t now_ns = 0;
    struct hr_pace pace = judged(10, 11, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
    ck_assert(may_read_back(&pace, true, 32, now_ns));
}
END_TEST

START_TEST(reads_back_while_writing_keeps_up_where_both_share_one_budget)
{
    int64_t now_ns = 0;
    struct hr_pace pace = judged(10, 20, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD);
    ck_assert(!may_read_back(&pace, true, 32, now_ns));
    ck_assert(may_read_back(&pace, true, 1, now_ns));
}
END_TEST

START_TEST(reads_back_after_writing_where_both_together_are_slower_than_one)
{
    char line[160];
    int64_t now_ns = 0;
    struct hr_pace pace = judged(10, 50, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_AFTER);
    ck_assert(!may_read_back(&pace, true, 0, now_ns));
    ck_assert(!may_read_back(&pace, false, 0, now_ns + 100 * ms));
    ck_assert(may_read_back(&pace, false, 0, now_ns + 1100 * ms));
    hr__pace_describe(line, sizeof line, &pace);
    ck_assert_str_eq(line, "read back after writing: side by side, writing goes at 0.20 of its speed, both together at "
                           "0.40");
}
END_TEST

START_TEST(judges_anew_when_the_drive_changes_its_mind)
{
    int64_t now_ns = 0;
    struct hr_pace pace = judged(10, 20, 1, &now_ns);
    now_ns += 16000 * ms;
    ck_assert(!may_read_back(&pace, true, 0, now_ns));
    write_for_a_while(&pace, 10, 0, &now_ns);
    ck_assert(may_read_back(&pace, true, 32, now_ns));
    write_for_a_while(&pace, 10, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD); /* once is no proof */
    write_for_a_while(&pace, 10, 0, &now_ns);
    write_for_a_while(&pace, 10, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
}
END_TEST

START_TEST(sees_without_a_probe_that_reading_is_no_longer_free)
{
    int64_t now_ns = 0;
    struct hr_pace pace = judged(10, 10, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
    write_for_a_while(&pace, 20, 1, &now_ns);
    ck_assert(!may_read_back(&pace, true, 32, now_ns));
    write_for_a_while(&pace, 10, 0, &now_ns);
    write_for_a_while(&pace, 20, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD);
}
END_TEST

START_TEST(probes_less_often_the_oftener_it_finds_the_same)
{
    int64_t now_ns = 0;
    struct hr_pace pace = judged(10, 20, 1, &now_ns);
    now_ns += 16000 * ms;
    write_for_a_while(&pace, 10, 0, &now_ns);
    write_for_a_while(&pace, 20, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD);
    now_ns += 16000 * ms;
    ck_assert(may_read_back(&pace, true, 0, now_ns)); /* no probe: it keeps up */
    now_ns += 16000 * ms;
    ck_assert(!may_read_back(&pace, true, 0, now_ns)); /* a probe: the writer is left alone */
}
END_TEST

START_TEST(never_reads_back_beside_writing_on_a_disk_with_heads)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    char line[160];
    hr__pace_init(&pace, false, true);
    write_for_a_while(&pace, 10, 0, &now_ns);
    write_for_a_while(&pace, 10, 1, &now_ns);
    ck_assert(!may_read_back(&pace, true, 0, now_ns + 100000 * ms));
    hr__pace_describe(line, sizeof line, &pace);
    ck_assert_str_eq(line, "read back after writing: a disk with heads");
}
END_TEST

START_TEST(leaves_the_writer_alone_for_a_while_to_have_something_to_compare_with)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    write_for_a_while(&pace, 250, 1, &now_ns);
    ck_assert(!may_read_back(&pace, true, 32, now_ns));
    write_for_a_while(&pace, 10, 0, &now_ns);
    ck_assert(may_read_back(&pace, true, 32, now_ns));
}
END_TEST

START_TEST(does_not_hold_a_writer_that_waits_for_the_card_for_slow)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    char line[160];
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    for (int i = 0; i < 1000; i++) {
        saw_write(&pace, i % 2 ? 2 * ms : 9 * ms, i % 2 == 0, false, &now_ns);
    }
    ck_assert(!pace.is_judged);
    ck_assert(may_read_back(&pace, true, 0, now_ns));
    hr__pace_describe(line, sizeof line, &pace);
    ck_assert_str_eq(line, "read back while writing: it always kept up");
}
END_TEST

START_TEST(does_not_judge_from_a_few_writes)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    saw_write(&pace, 10 * ms, false, true, &now_ns);
    saw_write(&pace, 90 * ms, true, true, &now_ns);
    ck_assert(!pace.is_judged);
}
END_TEST

START_TEST(is_not_misled_by_syncs_beside_some_of_the_writes)
{
    struct hr_pace pace;
    int64_t now_ns = 0;
    hr__pace_init(&pace, false, false);
    warm_up(&pace, &now_ns);
    for (int i = 0; i < 80; i++) {
        bool in_sync = i % 5 == 0;
        struct hr_pace_write write = {
            .bytes = MB, .took_ns = (in_sync ? 90 : 10) * ms, .is_backed_up = true, .is_disturbed = in_sync};
        hr__pace_saw_write(&pace, &write, now_ns += write.took_ns);
    }
    write_for_a_while(&pace, 50, 1, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_AFTER);
}
END_TEST

START_TEST(does_not_believe_that_reading_speeds_writing_up)
{
    int64_t now_ns = 0;
    struct hr_pace pace = judged(30, 10, 1, &now_ns);
    ck_assert(!pace.is_judged);
    ck_assert(!may_read_back(&pace, true, 32, now_ns));
}
END_TEST

HR_SUITE("transfer/pace", is_not_misled_by_syncs_beside_some_of_the_writes,
         does_not_believe_that_reading_speeds_writing_up, goes_on_reading_back_where_it_costs_writing_nothing,
         reads_back_while_writing_keeps_up_where_both_share_one_budget,
         reads_back_after_writing_where_both_together_are_slower_than_one, judges_anew_when_the_drive_changes_its_mind,
         sees_without_a_probe_that_reading_is_no_longer_free, probes_less_often_the_oftener_it_finds_the_same,
         never_reads_back_beside_writing_on_a_disk_with_heads,
         leaves_the_writer_alone_for_a_while_to_have_something_to_compare_with,
         does_not_hold_a_writer_that_waits_for_the_card_for_slow, does_not_judge_from_a_few_writes)
