/* SPDX-License-Identifier: ISC */
#include <math.h>
#include <string.h>

#include <headrace/buffer.h>

#include "suite.h"

static const struct hr_buffer plain = {100, 20};

static struct hr_buffer_plan plan_of(const struct hr_buffer *buffer, const struct hr_hold *holds, size_t hold_count,
                                     const struct hr_easing *easings, size_t easing_count)
{
    struct hr_buffer_plan plan;
    struct hr_fault fault = {0};
    ck_assert_msg(hr_buffer_plan(&plan, buffer, holds, hold_count, easings, easing_count, &fault) == HR_OK, "%s",
                  fault.text);
    return plan;
}

static void expect(const struct hr_buffer_plan *plan, double frames, double full_at_s, bool last_runs)
{
    ck_assert_double_eq_tol(plan->frames, frames, 1e-6);
    ck_assert_double_eq_tol(plan->full_at_s, full_at_s, 1e-6);
    ck_assert_int_eq(plan->last_runs, last_runs);
}

/* Computed: b = 100, r = 20, f = 40: full after 5 s and 200 frames, then 20 a second. */
START_TEST(runs_full_when_the_model_says)
{
    struct hr_buffer_plan plan = plan_of(&plain, &(struct hr_hold){5, 40, 0}, 1, NULL, 0);
    expect(&plan, 200, -1, true);
    hr_buffer_plan_finish(&plan);
    plan = plan_of(&plain, &(struct hr_hold){8, 40, 0}, 1, NULL, 0);
    expect(&plan, 260, 5, false);
    hr_buffer_plan_finish(&plan);
    plan = plan_of(&plain, &(struct hr_hold){60, 20, 0}, 1, NULL, 0);
    expect(&plan, 1200, -1, true);
    hr_buffer_plan_finish(&plan);
}
END_TEST

/* Computed: from 40 to 25 a second at 75 % full: 275 frames, 8.75 s. */
START_TEST(eases_at_the_fill_it_is_told)
{
    static const struct hr_easing easing = {0.75, 25};
    struct hr_buffer_plan plan = plan_of(&plain, &(struct hr_hold){8.75, 40, 0}, 1, &easing, 1);
    expect(&plan, 275, -1, true);
    ck_assert_double_eq_tol(plan.timeline[plan.moment_count - 1].fill, 1, 1e-9);
    hr_buffer_plan_finish(&plan);
    plan = plan_of(&plain, &(struct hr_hold){9.75, 40, 0}, 1, &easing, 1);
    expect(&plan, 295, 8.75, false);
    hr_buffer_plan_finish(&plan);
}
END_TEST

START_TEST(takes_several_steps_one_after_the_other)
{
    static const struct hr_easing easings[] = {{0.5, 30}, {0.75, 25}, {0.9, 10}};
    struct hr_buffer_plan plan = plan_of(&plain, &(struct hr_hold){20, 40, 0}, 1, easings, 3);
    /* 2.5 s to half, 2.5 s to three quarters, 3 s to nine tenths, then it falls by 10 a second */
    expect(&plan, 100 + 75 + 75 + 120, -1, true);
    hr_buffer_plan_finish(&plan);
}
END_TEST

START_TEST(empties_while_the_finger_is_up)
{
    static const struct hr_hold holds[] = {{3, 40, 1}, {2, 40, 10}, {5, 40, 0}};
    struct hr_buffer_plan plan = plan_of(&plain, holds, 3, NULL, 0);
    expect(&plan, 120 + 80 + 200, -1, true); /* 60, 40, 80, empty long before the last */
    ck_assert_double_eq_tol(plan.last_fill, 0, 1e-9);
    hr_buffer_plan_finish(&plan);
}
END_TEST

/* Computed: the last begins at 40 and rises by 80, 20 too many. Half a second less at 40 a second is 20 frames, for the
 * card goes on taking meanwhile. */
START_TEST(says_how_much_to_hold_back)
{
    static const struct hr_hold holds[] = {{3, 40, 1}, {4, 40, 0}};
    struct hr_fault fault = {0};
    double seconds;
    struct hr_buffer_plan plan = plan_of(&plain, holds, 2, NULL, 0);
    expect(&plan, 120 + 120 + 20, 7, false);
    hr_buffer_plan_finish(&plan);
    ck_assert_int_eq(hr_buffer_hold_back(&seconds, &plain, holds, 2, &fault), HR_OK);
    ck_assert_double_eq_tol(seconds, 0.5, 1e-5);
    plan = plan_of(&plain, (struct hr_hold[]){{2.5, 40, 1.5}, {4, 40, 0}}, 2, NULL, 0);
    ck_assert(plan.last_runs);
    hr_buffer_plan_finish(&plan);
    ck_assert_int_eq(hr_buffer_hold_back(&seconds, &plain, (struct hr_hold[]){{3, 40, 4}, {4, 40, 0}}, 2, &fault),
                     HR_OK);
    ck_assert_double_eq(seconds, 0);
    ck_assert_int_eq(hr_buffer_hold_back(&seconds, &plain, (struct hr_hold[]){{3, 40, 4}, {6, 40, 0}}, 2, &fault),
                     HR_NOT_FOUND);
    ck_assert_double_eq_tol(seconds, 1, 1e-9);
}
END_TEST

/* Whole frames and a buffer that empties evenly. */
static double whole_frames(const struct hr_buffer *buffer, double seconds, double per_s)
{
    double fill = 0, at_s = 0, frames = 0;
    while (at_s < seconds - 1e-9) {
        double wait_s = fmax(0, fill + 1 - buffer->depth_frames) / fmax(buffer->drain_per_s, 1e-9);
        at_s += wait_s;
        fill = fmax(0, fill - wait_s * buffer->drain_per_s);
        if (at_s >= seconds - 1e-9)
            break;
        frames++;
        fill = fmax(0, fill + 1 - buffer->drain_per_s / per_s);
        at_s += 1 / per_s;
    }
    return frames;
}

/* Computed: whole frames may fall short of the closed form by 1 / (1 - r / f). */
START_TEST(agrees_with_whole_frames)
{
    for (double depth = 20; depth < 200; depth += 13)
        for (double drain = 5; drain < 25; drain += 3.7)
            for (double per_s = 30; per_s <= 40; per_s += 10) {
                struct hr_buffer buffer = {depth, drain};
                struct hr_buffer_plan plan = plan_of(&buffer, &(struct hr_hold){12, per_s, 0}, 1, NULL, 0);
                double whole = whole_frames(&buffer, 12, per_s);
                ck_assert_msg(fabs(plan.frames - whole) <= 1 / (1 - drain / per_s) + 1, "%g %g %g: %g, %g", depth,
                              drain, per_s, plan.frames, whole);
                hr_buffer_plan_finish(&plan);
            }
}
END_TEST

START_TEST(finds_a_step_that_lets_the_last_hold_run)
{
    static const struct hr_hold holds[] = {{3, 40, 1}, {4, 40, 0}};
    struct hr_easing best;
    struct hr_fault fault = {0};
    struct hr_buffer_plan nothing = plan_of(&plain, holds, 2, NULL, 0);
    ck_assert_int_eq(hr_buffer_best_easing(&best, &plain, holds, 2, &fault), HR_OK);
    struct hr_buffer_plan eased = plan_of(&plain, holds, 2, &best, 1);
    ck_assert(!nothing.last_runs && eased.last_runs);
    /* all others that let it run get no more */
    for (int percent = 5; percent < 100; percent += 5)
        for (double per_s = 1; per_s < 40; per_s++) {
            struct hr_buffer_plan other = plan_of(&plain, holds, 2, &(struct hr_easing){percent / 100.0, per_s}, 1);
            ck_assert(!other.last_runs || other.frames <= eased.frames + 1e-6);
            hr_buffer_plan_finish(&other);
        }
    hr_buffer_plan_finish(&nothing);
    hr_buffer_plan_finish(&eased);
    ck_assert_int_eq(hr_buffer_best_easing(&best, &plain, &(struct hr_hold){2, 40, 0}, 1, &fault), HR_NOT_FOUND);
}
END_TEST

START_TEST(refuses_a_play_that_is_none)
{
    static const struct {
        struct hr_buffer buffer;
        struct hr_hold hold;
        struct hr_easing easings[2];
        size_t easing_count;
    } cases[] = {{{0, 20}, {1, 40, 0}, {{0, 0}}, 0},      {{100, -1}, {1, 40, 0}, {{0, 0}}, 0},
                 {{100, 20}, {0, 40, 0}, {{0, 0}}, 0},    {{100, 20}, {1, NAN, 0}, {{0, 0}}, 0},
                 {{100, 20}, {1, 40, -1}, {{0, 0}}, 0},   {{100, 20}, {1, HR_HOLD_RATE_MAX + 1, 0}, {{0, 0}}, 0},
                 {{100, 20}, {1, 40, 0}, {{1.5, 20}}, 1}, {{100, 20}, {1, 40, 0}, {{0.5, 20}, {0.7, 25}}, 2}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct hr_buffer_plan plan;
        struct hr_fault fault = {0};
        ck_assert_int_eq(
            hr_buffer_plan(&plan, &cases[i].buffer, &cases[i].hold, 1, cases[i].easings, cases[i].easing_count, &fault),
            HR_INVALID);
        ck_assert_uint_gt(strlen(fault.text), 0);
    }
}
END_TEST

START_TEST(no_two_moments_are_at_one_time)
{
    static const struct hr_hold holds[] = {{3, 40, 0}, {2, 30, 5}, {6, 40, 0}};
    struct hr_buffer_plan plan = plan_of(&plain, holds, 3, NULL, 0);
    for (size_t i = 1; i < plan.moment_count; i++)
        ck_assert_double_gt(plan.timeline[i].at_s, plan.timeline[i - 1].at_s);
    ck_assert_double_eq(plan.timeline[1].at_s, 3);
    ck_assert_double_eq(plan.timeline[1].per_s, 30);
    ck_assert_double_eq(plan.timeline[plan.moment_count - 1].at_s, 16);
    hr_buffer_plan_finish(&plan);
}
END_TEST

HR_SUITE("forecast/buffer_plan", runs_full_when_the_model_says, eases_at_the_fill_it_is_told,
         takes_several_steps_one_after_the_other, empties_while_the_finger_is_up, says_how_much_to_hold_back,
         agrees_with_whole_frames, finds_a_step_that_lets_the_last_hold_run, refuses_a_play_that_is_none,
         no_two_moments_are_at_one_time)
