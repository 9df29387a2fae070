/* SPDX-License-Identifier: ISC */
/* Depth and drain from bursts in which the buffer ran full. All values are computed from N = b / (1 - r / f). */
#include <math.h>

#include <headrace/buffer.h>

#include "suite.h"

/* Of a buffer 48 frames deep, drained by 16 a second, so much of it filled when the burst began. */
static struct hr_buffer_stall stall_at(double per_s, double filled, double rest_s)
{
    return (struct hr_buffer_stall){.per_s = per_s,
                                    .frames = (48 - filled) / (1 - 16 / per_s),
                                    .drain_per_s = 16,
                                    .drain_bytes_per_s = 160e6,
                                    .rest_s = rest_s};
}

static struct hr_buffer_stalls find(const struct hr_buffer_stall *stalls, size_t count)
{
    struct hr_buffer_stalls found;
    struct hr_fault fault = {0};
    ck_assert_msg(hr_buffer_from_stalls(&found, stalls, count, &fault) == HR_OK, "%s", fault.text);
    return found;
}

START_TEST(one_rested_burst_tells_depth_and_drain)
{
    const struct hr_buffer_stall stall = stall_at(30, 0, INFINITY);
    struct hr_buffer_stalls found = find(&stall, 1);
    ck_assert_double_eq_tol(found.buffer.depth_frames, 48, 1e-9);
    ck_assert_double_eq(found.buffer.drain_per_s, 16);
    ck_assert_double_eq(found.drain_bytes_per_s, 160e6);
    ck_assert_uint_eq(found.rested_count, 1);
    ck_assert(!found.has_fit);
}
END_TEST

/* Full when the burst before ended, rested for 0.1 to 2.9 s of the 3 it takes to clear. */
START_TEST(bursts_that_began_with_frames_in_the_buffer_tell_no_depth)
{
    for (double rest_s = 0.1; rest_s < 2.95; rest_s += 0.1) {
        const struct hr_buffer_stall stall = stall_at(30, 48 - 16 * rest_s, rest_s);
        struct hr_buffer_stalls found = find(&stall, 1);
        ck_assert_msg(found.rested_count == 0, "after %g s", rest_s);
        ck_assert_double_eq(found.buffer.depth_frames, 0);
        ck_assert_double_eq(found.buffer.drain_per_s, 16);
    }
    const struct hr_buffer_stall stalls[] = {stall_at(30, 32, 1), stall_at(30, 0, 4), stall_at(40, 40, 0.5)};
    struct hr_buffer_stalls found = find(stalls, 3);
    ck_assert_uint_eq(found.rested_count, 1);
    ck_assert_double_eq_tol(found.buffer.depth_frames, 48, 1e-9);
}
END_TEST

START_TEST(a_wild_one_does_not_move_the_middle)
{
    struct hr_buffer_stall stalls[] = {stall_at(30, 0, 60), stall_at(30, 0, 60), stall_at(30, 0, 60),
                                       stall_at(30, 0, 60)};
    stalls[1].drain_per_s = 24;
    stalls[1].frames /= 2;
    stalls[1].drain_bytes_per_s = 0;
    stalls[2].frames *= 2;
    struct hr_buffer_stalls found = find(stalls, 4);
    ck_assert_double_eq(found.buffer.drain_per_s, 16);
    ck_assert_double_eq(found.drain.low, 16);
    ck_assert_double_eq(found.drain.high, 24);
    ck_assert_double_eq_tol(found.buffer.depth_frames, 48, 1e-9);
    ck_assert_double_eq_tol(found.depth.low, 48, 1e-9); /* the first wild one tells no depth */
    ck_assert_double_eq_tol(found.depth.high, 96, 1e-9);
    ck_assert_double_eq(found.drain_bytes_per_s, 160e6);
}
END_TEST

START_TEST(several_rates_give_a_second_opinion)
{
    const struct hr_buffer_stall stalls[] = {stall_at(20, 0, 60), stall_at(30, 0, 60), stall_at(40, 0, 60),
                                             stall_at(40, 24, 1)};
    struct hr_buffer_stalls found = find(stalls, 4);
    ck_assert(found.has_fit);
    ck_assert_double_eq_tol(found.fit.buffer.depth_frames, 48, 1e-3);
    ck_assert_double_eq_tol(found.fit.buffer.drain_per_s, 16, 1e-3);
    const struct hr_buffer_stall alike[] = {stall_at(29.98, 0, 60), stall_at(30.01, 0, 60), stall_at(31, 0, 60)};
    ck_assert(!find(alike, 3).has_fit);
}
END_TEST

START_TEST(stalls_that_make_no_sense_are_refused)
{
    struct hr_buffer_stalls found;
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr_buffer_from_stalls(&found, NULL, 0, &fault), HR_INVALID);
    for (int i = 0; i < 6; i++) {
        struct hr_buffer_stall stall = stall_at(30, 0, 60);
        double *const figures[] = {&stall.frames, &stall.drain_per_s, &stall.rest_s};
        static const double wrong[] = {0, -1, -1};
        if (i < 3)
            *figures[i] = wrong[i];
        else
            stall.per_s = (double[]){16, NAN, INFINITY}[i - 3];
        fault = (struct hr_fault){0};
        ck_assert_msg(hr_buffer_from_stalls(&found, &stall, 1, &fault) == HR_INVALID, "%d", i);
        ck_assert_str_ne(fault.text, "");
    }
}
END_TEST

HR_SUITE("forecast/buffer_stalls", one_rested_burst_tells_depth_and_drain,
         bursts_that_began_with_frames_in_the_buffer_tell_no_depth, a_wild_one_does_not_move_the_middle,
         several_rates_give_a_second_opinion, stalls_that_make_no_sense_are_refused)
