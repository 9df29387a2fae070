/* SPDX-License-Identifier: ISC */
/* Grouping by facts alone. Frames are written as "COUNTER@SECONDS", blanks between, a word "A:" or "B:" before those of
 * a body; what comes of them is written as counters, '-' within a burst, '+' between bursts, '|' between sequences. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/sequence.h>

#include "suite.h"

enum { FRAMES_MAX = 4096, TEXT_SIZE = 8192 };

struct table {
    struct hr_frame frames[FRAMES_MAX];
    size_t count;
    char serials[FRAMES_MAX][8];
    struct hr_grouping *grouping;
    char shown[TEXT_SIZE];
};

static struct table table;

static struct hr_frame *add(const char *serial, const char *model, unsigned folder, unsigned counter, double at_s)
{
    ck_assert_uint_lt(table.count, FRAMES_MAX);
    struct hr_frame *frame = &table.frames[table.count++];
    *frame = (struct hr_frame){.key = "",
                               .job = "final",
                               .serial = serial,
                               .model = model,
                               .has_time = true,
                               .local_ns = llround(at_s * 1e9),
                               .folder_number = (uint16_t)folder,
                               .counter = (uint16_t)counter,
                               .size_bytes = 10000000};
    return frame;
}

static void read_frames(const char *text, bool has_serials)
{
    char body[8] = "A";
    unsigned folder = 100, counter;
    double at_s;
    for (int used; *text; text += used) {
        if (sscanf(text, " %7[A-Z]:%n", body, &used) == 1 && text[used - 1] == ':')
            continue;
        if (sscanf(text, " /%u%n", &folder, &used) == 1)
            continue;
        ck_assert_int_eq(sscanf(text, " %u@%lf%n", &counter, &at_s, &used), 2);
        snprintf(table.serials[table.count], 8, "%s", has_serials ? body : "");
        add(table.serials[table.count], "model", folder, counter, at_s);
    }
}

static void group(double gap_s)
{
    struct hr_grouping_options options = {.gap_s = gap_s};
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr_grouping_create(&table.grouping, table.frames, table.count, &options, &fault), HR_OK);
}

static void show(const char *format, ...)
{
    va_list arguments;
    size_t used = strlen(table.shown);
    va_start(arguments, format);
    vsnprintf(table.shown + used, TEXT_SIZE - used, format, arguments);
    va_end(arguments);
}

static const char *shown(void)
{
    table.shown[0] = '\0';
    for (size_t s = 0; s < table.grouping->sequence_count; s++) {
        const struct hr_sequence *sequence = &table.grouping->sequences[s];
        show("%s%c:", s ? "|" : "", 'A' + (int)sequence->body);
        for (size_t b = 0; b < sequence->burst_count; b++)
            for (uint32_t i = sequence->bursts[b].first; i <= sequence->bursts[b].last; i++)
                show("%s%u",
                     i > sequence->bursts[b].first ? "-"
                     : b                           ? "+"
                                                   : "",
                     table.frames[sequence->frames[i]].counter);
    }
    for (size_t i = 0; i < table.grouping->single_count; i++)
        show("%s%u", i ? "," : " singles ", table.frames[table.grouping->singles[i]].counter);
    return table.shown;
}

static void clear(void)
{
    hr_grouping_destroy(table.grouping);
    table.grouping = NULL;
    table.count = 0;
}

static void expect(const char *frames, const char *groups)
{
    clear();
    read_frames(frames, true);
    group(0);
    ck_assert_str_eq(shown(), groups);
}

/* `count` frames of body A from `at_s` on, by a clock of steps of `step_s`; the counter goes on. */
static double shoot(size_t count, double at_s, double per_s, double step_s)
{
    for (size_t i = 0; i < count; i++, at_s += 1 / per_s)
        add("A", "model", 100, (unsigned)table.count + 1, floor(at_s / step_s + 1e-9) * step_s);
    return at_s;
}

/* ---- Bursts and sequences: common practice, no source ---- */

START_TEST(ends_a_burst_at_a_pause_and_a_sequence_at_a_longer_one)
{
    expect("1@0 2@.05 3@.1 4@.15 5@1.15 6@1.2 7@1.25 8@6 9@6.05", "A:1-2-3-4+5-6-7|A:8-9");
    expect("1@0 2@.05 3@.1 4@.45 5@.5", "A:1-2-3-4-5");        /* 0.35 s */
    expect("1@0 2@.05 3@.1 4@.55 5@.6", "A:1-2-3+4-5");        /* 0.45 s, over 0.4 s */
    expect("1@0 2@.3 3@.6 4@.9 5@1.5 6@1.8", "A:1-2-3-4-5-6"); /* 0.6 s, under three intervals */
}
END_TEST

START_TEST(lists_a_frame_by_itself_as_a_single)
{
    expect("1@0 2@10 3@10.05 4@20", "A:2-3 singles 1,4");
    expect("1@0", " singles 1");
    expect("", "");
}
END_TEST

START_TEST(takes_the_gap_between_sequences_as_it_is_told)
{
    clear();
    read_frames("1@0 2@.05 3@2 4@2.05 5@8 6@8.05", true);
    group(1);
    ck_assert_str_eq(shown(), "A:1-2|A:3-4|A:5-6");
    hr_grouping_destroy(table.grouping);
    group(6);
    ck_assert_str_eq(shown(), "A:1-2+3-4+5-6");
}
END_TEST

START_TEST(never_groups_across_jobs)
{
    clear();
    read_frames("1@0 2@.05 3@.1 4@.15", true);
    table.frames[2].job = table.frames[3].job = "training";
    group(0);
    ck_assert_str_eq(shown(), "A:1-2|A:3-4");
}
END_TEST

/* ---- Bodies ---- */

START_TEST(keeps_two_bodies_apart_that_shoot_at_once)
{
    expect("A: 1@0 B: 1@.01 A: 2@.05 B: 2@.06 A: 3@.1 B: 3@.11", "A:1-2-3|B:1-2-3");
    clear();
    read_frames("A: 10@0 B: 5000@.01 A: 11@.05 B: 5001@.06 A: 12@.1 B: 5002@.11", false);
    group(0);
    ck_assert_str_eq(shown(), "A:10-11-12|B:5000-5001-5002");
}
END_TEST

START_TEST(takes_a_counter_that_was_set_back_for_the_same_body)
{
    clear();
    read_frames("8000@0 8001@.05 1@60 2@60.05", false);
    group(0);
    ck_assert_uint_eq(table.grouping->body_count, 1);
    ck_assert_str_eq(shown(), "A:8000-8001|A:1-2");
}
END_TEST

START_TEST(names_bodies_by_their_first_frame)
{
    expect("B: 1@5 2@5.05 A: 1@9 2@9.05", "A:1-2|B:1-2");
    ck_assert_str_eq(table.grouping->bodies[0].serial, "B");
    ck_assert_uint_eq(table.grouping->bodies[0].frame_count, 2);
}
END_TEST

/* ---- Names and clocks. Roll-over: CIPA DC-009 ---- */

START_TEST(goes_on_where_the_counter_rolls_over)
{
    expect("9998@0 9999@.05 /101 1@.1 2@.15", "A:9998-9999-1-2");
    expect("/101 1@.1 2@.15 /100 9998@0 9999@.05", "A:9998-9999-1-2");
    expect("/100 499@0 500@0 /101 501@0 502@1", "A:499-500-501-502"); /* a new folder after 500 frames */
    expect("/0 1@1 2@1 9998@0 9999@0", "A:9998-9999-1-2");            /* all in one folder */
}
END_TEST

START_TEST(orders_frames_of_one_second_by_their_counter)
{
    expect("4@1 3@1 2@0 1@0 5@1", "A:1-2-3-4-5");
    ck_assert_int_eq(table.grouping->bodies[0].resolution_ns, 1000000000);
}
END_TEST

START_TEST(takes_9999_before_0001_where_one_folder_holds_both)
{
    expect("9997@1 9998@1 9999@2 1@2 2@2 3@3", "A:9997-9998-9999-1-2-3");
}
END_TEST

/* A card erased in the camera, where the count starts again. */
START_TEST(tells_shootings_of_one_card_apart_whose_numbers_are_the_same)
{
    expect("1@0 2@.05 3@.1 1@100 2@100.05 3@100.1 4@100.15", "A:1-2-3|A:1-2-3-4");
    ck_assert_uint_eq(table.grouping->clock_change_count, 0);
    expect("1@0 2@.05 3@.1 9@50 1@100 2@100.05 1@200 2@200.05", "A:1-2-3|A:1-2|A:1-2 singles 9"); /* twice */
    /* 0001 of the first was deleted: the count broke off before 0001 of the second, not at the first number that comes
     * again */
    expect("2@0 3@.05 1@100 2@100.05 3@100.1", "A:2-3|A:1-2-3");
    ck_assert_uint_eq(table.grouping->clock_change_count, 0);
    expect("1@100 2@100.05 3@40 4@40.05 1@200 2@200.05", "A:3-4|A:1-2|A:1-2"); /* a clock set back in the first */
}
END_TEST

START_TEST(finds_the_step_of_the_clock_from_the_stamps)
{
    static const struct {
        const char *frames;
        int64_t resolution_ns;
    } cases[] = {
        {"1@5 2@6", 1000000000}, {"1@5.1 2@6", 100000000}, {"1@5.1 2@5.12", 10000000}, {"1@5.123 2@6", 1000000}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        clear();
        read_frames(cases[i].frames, true);
        group(0);
        ck_assert_int_eq(table.grouping->bodies[0].resolution_ns, cases[i].resolution_ns);
    }
}
END_TEST

START_TEST(sees_a_clock_that_was_set_back)
{
    expect("1@100 2@100.05 3@40 4@40.05", "A:3-4|A:1-2");
    ck_assert_uint_eq(table.grouping->clock_change_count, 1);
    ck_assert_int_eq(table.grouping->clock_changes[0].frame, 2);
    ck_assert_int_eq(table.grouping->clock_changes[0].jump_ns, -60050000000);
    ck_assert(!table.grouping->clock_changes[0].is_summer_time);
}
END_TEST

START_TEST(goes_on_over_a_change_of_summer_time)
{
    expect("1@0.05 2@.1 3@3600.15 4@3600.2", "A:1-2-3-4");
    ck_assert(table.grouping->clock_changes[0].is_summer_time);
    ck_assert_int_eq(table.grouping->clock_changes[0].jump_ns, 3600000000000);
    expect("1@3600.05 2@3600.1 3@.15 4@.2", "A:1-2-3-4");
    ck_assert_int_eq(table.grouping->clock_changes[0].jump_ns, -3600000000000);
    ck_assert_int_eq(table.grouping->sequences[0].length_ns, 150000000);
}
END_TEST

/* The offset counts summer time in (CIPA DC-008), so the camera knew. */
START_TEST(sees_no_change_where_the_offset_changed_with_the_clock)
{
    clear();
    read_frames("1@0.05 2@.1 3@3600.15 4@3600.2", true);
    for (size_t i = 0; i < 4; i++) {
        table.frames[i].has_offset = true;
        table.frames[i].offset_minutes = i < 2 ? 60 : 120;
    }
    group(0);
    ck_assert_str_eq(shown(), "A:1-2-3-4");
    ck_assert_uint_eq(table.grouping->clock_change_count, 0);
}
END_TEST

/* Where the offset stayed, an hour passed. */
START_TEST(takes_an_hour_by_an_offset_that_stayed_for_a_pause)
{
    clear();
    read_frames("1@0.05 2@.1 3@3600.15 4@3600.2", true);
    for (size_t i = 0; i < 4; i++) {
        table.frames[i].has_offset = true;
        table.frames[i].offset_minutes = 60;
    }
    group(0);
    ck_assert_str_eq(shown(), "A:1-2|A:3-4");
    ck_assert_uint_eq(table.grouping->clock_change_count, 0);
}
END_TEST

/* Jobs are in the order of their names, not of their days. */
START_TEST(sees_no_clock_set_back_where_another_job_begins)
{
    clear();
    read_frames("1@864000 2@864000.05 3@0 4@.05", true);
    table.frames[2].job = table.frames[3].job = "semi final";
    group(0);
    ck_assert_str_eq(shown(), "A:3-4|A:1-2");
    ck_assert_uint_eq(table.grouping->clock_change_count, 0);
}
END_TEST

/* An old body beside a new one, both by the clock of the ground; then two new ones, one by the clock of its home. */
START_TEST(sets_bodies_side_by_side_by_utc_only_where_all_tell_it)
{
    for (int both = 0; both < 2; both++) {
        clear();
        read_frames("A: 1@7200 2@7200.05 3@7300 4@7300.05 B: 1@7250 2@7250.05", true);
        for (size_t i = 0; i < table.count; i++) {
            table.frames[i].has_offset = i < 4 || both;
            table.frames[i].offset_minutes = i < 4 ? 60 : 0;
        }
        group(0);
        ck_assert_str_eq(shown(), both ? "A:1-2|A:3-4|B:1-2" : "A:1-2|B:1-2|A:3-4");
    }
    /* clips never tell it */
    struct hr_frame *clip = add("A", "model", 100, 5, 7400);
    clip->is_clip = true;
    hr_grouping_destroy(table.grouping);
    group(0);
    ck_assert_str_eq(shown(), "A:1-2|A:3-4|B:1-2 singles 5");
}
END_TEST

START_TEST(leaves_what_has_no_time_unknown_and_a_clip_by_itself)
{
    clear();
    read_frames("1@0 2@.05 3@.1 4@.15", true);
    table.frames[1].has_time = false;
    table.frames[2].is_clip = true;
    group(0);
    ck_assert_str_eq(shown(), "A:1-4 singles 3");
    ck_assert_uint_eq(table.grouping->unknown_count, 1);
    ck_assert_uint_eq(table.grouping->unknown[0], 1);
}
END_TEST

START_TEST(orders_more_runs_of_names_than_it_follows_by_time_alone)
{
    clear();
    for (unsigned i = 0; i < 300; i++)
        add("A", "model", 100 + i % 2, 1 + (i * 211) % 9000, 0.05 * i);
    group(0);
    ck_assert_uint_eq(table.grouping->sequence_count, 1);
    for (uint32_t i = 0; i < 300; i++)
        ck_assert_uint_eq(table.grouping->sequences[0].frames[i], i);
}
END_TEST

/* ---- Cadence and stalls ---- */

START_TEST(tells_the_cadence_from_any_clock)
{
    static const double cadences[] = {3, 8, 12, 20, 30, 40}, steps_s[] = {0.001, 0.01, 0.1, 1};
    for (size_t c = 0; c < 6; c++)
        for (size_t s = 0; s < 4; s++) {
            clear();
            shoot((size_t)(6 * cadences[c]), 100.2, cadences[c], steps_s[s]);
            group(0);
            double cadence = table.grouping->sequences[0].bursts[0].cadence_per_s;
            ck_assert_msg(fabs(cadence / cadences[c] - 1) < 0.02 + steps_s[s] / 5, "%g/s by %g s: %g", cadences[c],
                          steps_s[s], cadence);
        }
}
END_TEST

/* A buffer model's arithmetic: held at `held` a second for `until_full` frames, then 18 a second. */
static void expect_stall(double held, size_t until_full, double step_s, double tolerance)
{
    clear();
    shoot(72, shoot(until_full, 50.3, held, step_s) - 1 / held + 1 / 18.0, 18, step_s);
    group(0);
    const struct hr_burst *burst = &table.grouping->sequences[0].bursts[0];
    ck_assert_msg(burst->has_stall, "held at %g by %g s: no stall", held, step_s);
    ck_assert_msg(fabs((double)burst->stall.frame - (double)until_full) <= tolerance, "held at %g by %g s: full at %u",
                  held, step_s, burst->stall.frame);
    ck_assert_double_eq_tol(burst->cadence_per_s, held, 0.05 * held);
    ck_assert_double_eq_tol(burst->stall.drain_cadence_per_s, 18, 0.05 * 18);
    ck_assert_double_eq_tol(burst->stall.drain_bytes_per_s, 180e6, 9e6); /* 10 MB a frame */
    ck_assert_double_eq_tol(burst->stall.seconds_full, 4, 0.1 + 2 * step_s);
    ck_assert_double_eq_tol(burst->stall.frames_lost, 4 * held - 72, 6 + 2.5 * held * step_s);
    ck_assert(burst->stall.confidence > 0.5 && burst->stall.confidence <= 1);
}

/* Tolerances: max(2, 2 x cadence x step), a target of simulation, no source. */
START_TEST(finds_where_the_buffer_ran_full)
{
    static const double held[] = {40, 30, 25}, steps_s[] = {0.001, 0.01, 0.1, 1};
    for (size_t h = 0; h < 3; h++)
        for (size_t s = 0; s < 4; s++)
            expect_stall(held[h], (size_t)(5 * held[h]), steps_s[s], fmax(2, 2 * held[h] * steps_s[s]));
}
END_TEST

/* A burst that ended soon after the buffer was full: where it began to wait is told rightly or not at all. */
START_TEST(takes_no_frame_that_did_not_wait_into_a_short_stall)
{
    size_t told = 0;
    for (size_t waited = 2; waited <= 40; waited++) {
        clear();
        shoot(waited, shoot(79, 50.3, 30, 0.01) - 1 / 30.0 + 1 / 16.0, 16, 0.01);
        group(0);
        const struct hr_burst *burst = &table.grouping->sequences[0].bursts[0];
        told += burst->has_stall;
        ck_assert_msg(!burst->has_stall || fabs((double)burst->stall.frame - 79) <= 2, "%zu waited: full at %u", waited,
                      burst->stall.frame);
    }
    ck_assert_uint_ge(told, 20);
}
END_TEST

START_TEST(is_silent_where_nothing_stalled)
{
    static const double cadences[] = {10, 15, 20, 30, 40}, steps_s[] = {0.001, 0.01, 0.1, 1};
    for (size_t c = 0; c < 5; c++)
        for (size_t s = 0; s < 4; s++)
            for (double seconds = 4; seconds <= 20; seconds += 1.3) {
                clear();
                shoot((size_t)(seconds * cadences[c]), 10 + seconds / 7, cadences[c], steps_s[s]);
                group(0);
                const struct hr_burst *burst = &table.grouping->sequences[0].bursts[0];
                ck_assert_msg(!burst->has_stall, "%g/s for %g s by %g s: full at %u", cadences[c], seconds, steps_s[s],
                              burst->stall.frame);
            }
}
END_TEST

START_TEST(is_silent_where_the_clock_is_too_coarse)
{
    clear();
    shoot(20, shoot(40, 50.3, 40, 1), 18, 1); /* a second held, a second full */
    group(0);
    ck_assert(!table.grouping->sequences[0].bursts[0].has_stall);
}
END_TEST

START_TEST(keeps_a_slow_card_in_its_burst)
{
    clear();
    shoot(12, shoot(60, 50.3, 30, 0.01) + 0.6, 1.5, 0.01); /* then a frame each 0.67 s */
    group(0);
    ck_assert_uint_eq(table.grouping->sequences[0].burst_count, 1);
    ck_assert(table.grouping->sequences[0].bursts[0].has_stall);
    ck_assert_double_eq_tol(table.grouping->sequences[0].bursts[0].stall.drain_cadence_per_s, 1.5, 0.1);
}
END_TEST

START_TEST(takes_frames_that_are_missing_for_no_stall)
{
    clear();
    for (size_t i = 0; i < 150; i++)
        if (i != 90 && i != 110 && i != 130 && i != 140)
            add("A", "model", 100, (unsigned)i + 1, floor((50 + (double)i / 30) * 1000) / 1000);
    group(0);
    ck_assert(!table.grouping->sequences[0].bursts[0].has_stall);
    ck_assert_double_eq_tol(table.grouping->sequences[0].bursts[0].cadence_per_s, 30, 0.3);
}
END_TEST

HR_SUITE("sequence/grouping", ends_a_burst_at_a_pause_and_a_sequence_at_a_longer_one,
         lists_a_frame_by_itself_as_a_single, takes_the_gap_between_sequences_as_it_is_told, never_groups_across_jobs,
         keeps_two_bodies_apart_that_shoot_at_once, takes_a_counter_that_was_set_back_for_the_same_body,
         names_bodies_by_their_first_frame, goes_on_where_the_counter_rolls_over,
         orders_frames_of_one_second_by_their_counter, finds_the_step_of_the_clock_from_the_stamps,
         sees_a_clock_that_was_set_back, goes_on_over_a_change_of_summer_time,
         takes_9999_before_0001_where_one_folder_holds_both,
         tells_shootings_of_one_card_apart_whose_numbers_are_the_same,
         takes_an_hour_by_an_offset_that_stayed_for_a_pause, sees_no_clock_set_back_where_another_job_begins,
         sets_bodies_side_by_side_by_utc_only_where_all_tell_it, sees_no_change_where_the_offset_changed_with_the_clock,
         leaves_what_has_no_time_unknown_and_a_clip_by_itself, orders_more_runs_of_names_than_it_follows_by_time_alone,
         tells_the_cadence_from_any_clock, finds_where_the_buffer_ran_full,
         takes_no_frame_that_did_not_wait_into_a_short_stall, is_silent_where_nothing_stalled,
         is_silent_where_the_clock_is_too_coarse, keeps_a_slow_card_in_its_burst,
         takes_frames_that_are_missing_for_no_stall)
