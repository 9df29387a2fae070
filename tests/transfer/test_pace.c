/* SPDX-License-Identifier: ISC */
#include "transfer/pace.h"

#include <string.h>

#include "suite.h"

static const double MB = 1e6;
static const int64_t ms = 1000000;

/* A spell of 64 MB written at `rate` MB/s, with reading at `read_rate` beside it. */
static void spell(struct hr_pace *pace, double rate, double read_rate, int64_t *now_ns)
{
    double seconds = 64 / rate;
    struct hr_pace_spell spell = {.written_bytes = 64 * MB, .read_bytes = read_rate * seconds * MB, .seconds = seconds};
    *now_ns += (int64_t)(seconds * 1e9);
    hr__pace_saw_write(pace, *now_ns);
    hr__pace_saw_spell(pace, &spell, *now_ns);
}

/* The drive itself: what it writes alone, and what it writes and reads when it does both, in MB/s. */
struct drive {
    double alone, written, read;
};
static const struct drive two_budgets = {150, 150, 150}, one_budget = {150, 75, 75}, heads = {150, 30, 30},
                          slow_to_read = {150, 148, 20};
/* The nearest to each other that were seen: heads that moved 0.84 together, one budget that moved 0.97. */
static const struct drive hasty_heads = {150, 69, 57}, worn_budget = {150, 77, 69};

static bool may_read_back(const struct hr_pace *pace, bool is_writing, uint64_t backlog_mb, int64_t now_ns)
{
    struct hr_pace_now now = {.at_ns = now_ns, .is_writing = is_writing, .backlog_bytes = backlog_mb * 1000000};
    return hr__pace_may_read_back(pace, &now);
}

/* A spell in which the drive does as the pace wants it to. */
static void follow(struct hr_pace *pace, const struct drive *drive, int64_t *now_ns)
{
    bool reads = may_read_back(pace, true, 32, *now_ns);
    spell(pace, reads ? drive->written : drive->alone, reads ? drive->read : 0, now_ns);
}

static void follow_on(struct hr_pace *pace, const struct drive *drive, int spells, int64_t *now_ns)
{
    for (int i = 0; i < spells; i++)
        follow(pace, drive, now_ns);
}

static void follow_until(enum hr_pace_probe probe, struct hr_pace *pace, const struct drive *drive, int64_t *now_ns)
{
    while (pace->probe != probe)
        follow(pace, drive, now_ns);
}

static struct hr_pace started(void)
{
    struct hr_pace pace;
    hr__pace_init(&pace, false, false);
    return pace;
}

/* A pace that followed the drive for `seconds`. */
static struct hr_pace followed(const struct drive *drive, double seconds, int64_t *now_ns)
{
    struct hr_pace pace = started();
    *now_ns = 1;
    while ((double)*now_ns < seconds * 1e9)
        follow(&pace, drive, now_ns);
    return pace;
}

START_TEST(goes_on_reading_back_where_it_costs_writing_nothing)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&two_budgets, 5, &now_ns);
    ck_assert(pace.is_judged);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
    ck_assert(may_read_back(&pace, true, 32, now_ns));
    ck_assert(hr__pace_reads_beside(&pace));
    pace = followed(&slow_to_read, 5, &now_ns);
    ck_assert(pace.is_judged);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
}
END_TEST

START_TEST(reads_back_while_writing_keeps_up_where_both_share_one_budget)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&one_budget, 5, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD);
    ck_assert(!hr__pace_reads_beside(&pace));
    ck_assert(!may_read_back(&pace, true, 32, now_ns));
    ck_assert(may_read_back(&pace, true, 1, now_ns));
}
END_TEST

START_TEST(reads_back_after_writing_where_both_together_are_slower_than_one)
{
    char line[160];
    int64_t now_ns;
    struct hr_pace pace = followed(&heads, 5, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_AFTER);
    ck_assert(!may_read_back(&pace, true, 0, now_ns));
    ck_assert(!may_read_back(&pace, false, 0, now_ns + 100 * ms));
    ck_assert(may_read_back(&pace, false, 0, now_ns + 1100 * ms));
    hr__pace_describe(line, sizeof line, &pace);
    ck_assert_str_eq(line, "read back after writing: side by side, writing goes at 0.20 of its speed, both together at "
                           "0.40");
}
END_TEST

START_TEST(tells_heads_from_a_budget_where_they_come_nearest)
{
    int64_t now_ns;
    ck_assert_int_eq(followed(&hasty_heads, 5, &now_ns).mode, HR_PACE_AFTER);
    ck_assert_int_eq(followed(&worn_budget, 5, &now_ns).mode, HR_PACE_YIELD);
}
END_TEST

START_TEST(says_that_reading_costs_nothing_only_where_that_was_found)
{
    struct hr_pace pace = started();
    ck_assert(!hr__pace_reads_beside(&pace));
    hr__pace_init(&pace, true, false);
    ck_assert(hr__pace_reads_beside(&pace));
    hr__pace_init(&pace, false, true);
    ck_assert(!hr__pace_reads_beside(&pace));
}
END_TEST

START_TEST(leaves_the_writer_alone_for_a_spell_to_have_something_to_compare_with)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&two_budgets, 0, &now_ns);
    follow_until(HR_PROBE_ALONE, &pace, &two_budgets, &now_ns);
    ck_assert(!may_read_back(&pace, true, 0, now_ns));
    ck_assert(may_read_back(&pace, false, 0, now_ns)); /* nobody to be left alone */
    follow(&pace, &two_budgets, &now_ns);
    ck_assert(may_read_back(&pace, true, 32, now_ns));
}
END_TEST

START_TEST(asks_twice_before_it_leaves_what_it_does_for_what_lies_next_to_it)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&two_budgets, 1.1, &now_ns);
    follow_until(HR_PROBE_SHARED, &pace, &two_budgets, &now_ns);
    follow(&pace, &one_budget, &now_ns); /* a hiccup */
    ck_assert(!pace.is_judged);
    follow_on(&pace, &two_budgets, 3, &now_ns);
    ck_assert(pace.is_judged);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
}
END_TEST

START_TEST(judges_anew_when_the_drive_changes_its_mind)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&one_budget, 5, &now_ns);
    follow_on(&pace, &two_budgets, 200, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_EAGER);
    pace = followed(&heads, 5, &now_ns);
    follow_on(&pace, &one_budget, 200, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD);
}
END_TEST

START_TEST(sees_without_a_probe_that_reading_is_no_longer_free)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&two_budgets, 5, &now_ns);
    ck_assert_int_eq(pace.probe, HR_PROBE_NONE);
    follow_on(&pace, &one_budget, 8, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD);
}
END_TEST

START_TEST(probes_less_often_the_oftener_it_finds_the_same)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&one_budget, 5, &now_ns);
    int probes = 0;
    for (int64_t until_ns = now_ns + 200000 * ms; now_ns < until_ns;) {
        enum hr_pace_probe before = pace.probe;
        follow(&pace, &one_budget, &now_ns);
        probes += before == HR_PROBE_NONE && pace.probe == HR_PROBE_ALONE;
    }
    ck_assert_int_eq(pace.mode, HR_PACE_YIELD);
    ck_assert_int_eq(probes, 3); /* after 15, 30, 60 and, later than this, 120 s */
}
END_TEST

START_TEST(probes_heads_again_later_than_what_has_one_budget)
{
    int64_t now_ns;
    struct hr_pace shares = followed(&one_budget, 40, &now_ns), travels = followed(&heads, 40, &now_ns);
    ck_assert_int_gt(shares.probe_after_ns, travels.probe_after_ns);
    follow_until(HR_PROBE_ALONE, &travels, &heads, &now_ns);
    ck_assert_int_gt(now_ns, 60000 * ms);
}
END_TEST

START_TEST(never_reads_back_beside_writing_on_a_disk_with_heads)
{
    struct hr_pace pace;
    int64_t now_ns = 1;
    char line[160];
    hr__pace_init(&pace, false, true);
    follow_on(&pace, &two_budgets, 100, &now_ns);
    ck_assert(!may_read_back(&pace, true, 0, now_ns + 100000 * ms));
    hr__pace_describe(line, sizeof line, &pace);
    ck_assert_str_eq(line, "read back after writing: a disk with heads");
}
END_TEST

START_TEST(does_not_hold_a_writer_that_waits_for_the_card_for_slow)
{
    struct hr_pace pace = started();
    int64_t now_ns = 1;
    char line[160];
    for (int i = 0; i < 100; i++) {
        struct hr_pace_spell waits = {
            .written_bytes = 64 * MB, .read_bytes = i % 2 * 64 * MB, .seconds = 1, .idle_seconds = 0.3};
        hr__pace_saw_spell(&pace, &waits, now_ns += 1000 * ms);
    }
    ck_assert(!pace.is_judged);
    ck_assert(may_read_back(&pace, true, 0, now_ns));
    hr__pace_describe(line, sizeof line, &pace);
    ck_assert_str_eq(line, "read back while writing keeps up: not judged");
}
END_TEST

START_TEST(gives_a_probe_up_when_the_writer_runs_dry)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&two_budgets, 0, &now_ns);
    follow_until(HR_PROBE_ALONE, &pace, &two_budgets, &now_ns);
    struct hr_pace_spell dry = {.written_bytes = 1 * MB, .seconds = 2, .idle_seconds = 1.9};
    hr__pace_saw_spell(&pace, &dry, now_ns += 2000 * ms);
    ck_assert_int_eq(pace.probe, HR_PROBE_NONE);
    ck_assert(may_read_back(&pace, true, 1, now_ns));
}
END_TEST

START_TEST(reads_while_writing_keeps_up_until_it_knows_better)
{
    struct hr_pace pace = started();
    ck_assert(may_read_back(&pace, true, 1, 1));
    ck_assert(!may_read_back(&pace, true, 32, 1));
}
END_TEST

START_TEST(lets_more_wait_for_a_sync_where_nothing_is_read_back_before_the_end)
{
    int64_t now_ns;
    struct hr_pace shares = followed(&one_budget, 5, &now_ns), travels = followed(&heads, 5, &now_ns);
    struct hr_pace_batch soon = hr__pace_batch(&shares), late = hr__pace_batch(&travels);
    ck_assert_uint_gt(late.least_bytes, soon.least_bytes);
    ck_assert_uint_gt(late.most_bytes, soon.most_bytes);
    ck_assert_uint_gt(late.files, soon.files);
    ck_assert_int_gt(late.age_ns, soon.age_ns);
}
END_TEST

START_TEST(ends_the_spells_of_a_probe_soon)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&heads, 40, &now_ns);
    follow_until(HR_PROBE_ALONE, &pace, &heads, &now_ns);
    struct hr_pace_batch alone = hr__pace_batch(&pace);
    follow_until(HR_PROBE_SHARED, &pace, &heads, &now_ns);
    struct hr_pace_batch shared = hr__pace_batch(&pace);
    ck_assert_uint_eq(alone.most_bytes, 40000000);
    ck_assert_uint_eq(shared.most_bytes, 20000000);
    ck_assert_uint_le(shared.least_bytes, shared.most_bytes);
}
END_TEST

START_TEST(does_not_judge_from_little)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&two_budgets, 0, &now_ns);
    follow_until(HR_PROBE_ALONE, &pace, &two_budgets, &now_ns);
    struct hr_pace_spell little = {.written_bytes = 8 * MB, .seconds = 0.06};
    for (int i = 0; i < 3; i++)
        hr__pace_saw_spell(&pace, &little, now_ns += 60 * ms);
    ck_assert_int_eq(pace.probe, HR_PROBE_ALONE);
    hr__pace_saw_spell(&pace, &little, now_ns += 60 * ms); /* 32 MB in 0.24 s */
    ck_assert_int_eq(pace.probe, HR_PROBE_SHARED);
}
END_TEST

START_TEST(does_not_judge_a_spell_in_which_next_to_nothing_was_read)
{
    int64_t now_ns;
    struct hr_pace pace = followed(&heads, 0, &now_ns);
    follow_until(HR_PROBE_SHARED, &pace, &heads, &now_ns);
    spell(&pace, 150, 1, &now_ns);
    ck_assert(!pace.is_judged);
    ck_assert_int_eq(pace.probe, HR_PROBE_SHARED);
    follow_on(&pace, &heads, 4, &now_ns);
    ck_assert_int_eq(pace.mode, HR_PACE_AFTER);
}
END_TEST

START_TEST(does_not_believe_that_reading_speeds_writing_up)
{
    static const struct drive impossible = {30, 60, 30};
    int64_t now_ns;
    struct hr_pace pace = followed(&impossible, 20, &now_ns);
    ck_assert(!pace.is_judged);
}
END_TEST

HR_SUITE("transfer/pace", goes_on_reading_back_where_it_costs_writing_nothing,
         reads_back_while_writing_keeps_up_where_both_share_one_budget,
         reads_back_after_writing_where_both_together_are_slower_than_one,
         tells_heads_from_a_budget_where_they_come_nearest, says_that_reading_costs_nothing_only_where_that_was_found,
         leaves_the_writer_alone_for_a_spell_to_have_something_to_compare_with,
         asks_twice_before_it_leaves_what_it_does_for_what_lies_next_to_it, judges_anew_when_the_drive_changes_its_mind,
         sees_without_a_probe_that_reading_is_no_longer_free, probes_less_often_the_oftener_it_finds_the_same,
         probes_heads_again_later_than_what_has_one_budget, never_reads_back_beside_writing_on_a_disk_with_heads,
         does_not_hold_a_writer_that_waits_for_the_card_for_slow, gives_a_probe_up_when_the_writer_runs_dry,
         reads_while_writing_keeps_up_until_it_knows_better,
         lets_more_wait_for_a_sync_where_nothing_is_read_back_before_the_end, ends_the_spells_of_a_probe_soon,
         does_not_judge_from_little, does_not_judge_a_spell_in_which_next_to_nothing_was_read,
         does_not_believe_that_reading_speeds_writing_up)
