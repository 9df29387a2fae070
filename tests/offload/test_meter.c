/* SPDX-License-Identifier: ISC */
/* Rates and time left, on counters written down here and on offloads that are played. */
#include <math.h>

#include "base/units.h"
#include "offload/meter.h"
#include "played_offload.h"
#include "suite.h"

static double seconds(int64_t ns)
{
    return (double)ns / 1e9;
}

static double middle_s(const struct hr_offload_progress *progress)
{
    return seconds(progress->left_low_ns + progress->left_high_ns) / 2;
}

static uint64_t times_mb(int64_t count, double mb)
{
    return (uint64_t)((double)count * mb * 1e6);
}

/* A place that has a GB to write; after `halves` half seconds in which it read, wrote and read back so many MB. */
static struct hr_offload_progress after(int64_t halves, double read, double written, double read_back,
                                        bool reads_beside)
{
    struct hr_meter meter = {0};
    struct hr_offload_progress progress = {.total_bytes = 1000000000, .place_count = 1};
    for (int64_t half = 0; half <= halves; half++) {
        struct hr_meter_mark mark = {.at_ns = half * HR_NS_PER_S / 2, .read_bytes = times_mb(half, read)};
        mark.written_bytes[0] = times_mb(half, written);
        mark.read_back_bytes[0] = times_mb(half, read_back);
        hr__meter_mark(&meter, &mark);
    }
    progress.elapsed_ns = halves * HR_NS_PER_S / 2;
    progress.read_bytes = times_mb(halves, read);
    progress.places[0] = (struct hr_offload_place_progress){.activity = HR_SINK_WRITING,
                                                            .written_bytes = times_mb(halves, written),
                                                            .read_back_bytes = times_mb(halves, read_back),
                                                            .total_bytes = 1000000000,
                                                            .reads_beside = reads_beside};
    hr__meter_estimate(&progress, &meter, NULL);
    return progress;
}

START_TEST(gives_rates_and_a_range_of_time_left)
{
    /* Read and written at 100 MB/s, read back at 50 MB/s: 6 s of writing are left, 800 MB to read back, of these 300
     * beside it; the rest at what it reads, or where both are one budget at all of that. */
    struct hr_offload_progress beside = after(8, 50, 50, 25, true), shared = after(8, 50, 50, 25, false);
    ck_assert_double_eq_tol(beside.read_bytes_per_s, 100e6, 1);
    ck_assert_double_eq_tol(beside.places[0].write_bytes_per_s, 100e6, 1);
    ck_assert_double_eq_tol(beside.places[0].read_back_bytes_per_s, 50e6, 1);
    ck_assert_double_eq_tol(middle_s(&beside), 6 + 10, 1e-6);
    ck_assert_double_eq_tol(middle_s(&shared), 6 + 500 / 150.0, 1e-6);
    ck_assert(shared.left_low_ns < shared.left_high_ns);
    ck_assert(shared.left_low_ns > 7 * HR_NS_PER_S && shared.left_high_ns < 12 * HR_NS_PER_S);
}
END_TEST

START_TEST(takes_a_place_that_was_busy_writing_to_read_as_it_wrote)
{
    /* 50 MB/s: half a GB to write, then a GB to read */
    struct hr_offload_progress progress = after(20, 50, 25, 0, false);
    ck_assert_double_eq_tol(middle_s(&progress), 10 + 20, 1e-6);
}
END_TEST

START_TEST(takes_a_place_that_has_just_begun_to_read_back_for_as_fast_as_it_is)
{
    struct hr_meter meter = {0};
    struct hr_offload_progress progress = {.elapsed_ns = 10 * HR_NS_PER_S, .place_count = 1};
    progress.places[0] = (struct hr_offload_place_progress){
        .written_bytes = 1000000000, .read_back_bytes = 300000000, .total_bytes = 1000000000};
    /* nothing for 7 s, then 300 MB in three: 700 MB are left, 7 s */
    for (int64_t half = 0; half <= 20; half++) {
        struct hr_meter_mark mark = {.at_ns = half * HR_NS_PER_S / 2};
        mark.read_back_bytes[0] = half > 14 ? (uint64_t)(half - 14) * 50000000 : 0;
        hr__meter_mark(&meter, &mark);
    }
    hr__meter_estimate(&progress, &meter, NULL);
    ck_assert_double_eq_tol(middle_s(&progress), 7, 1e-6);
}
END_TEST

START_TEST(does_not_believe_how_a_place_reads_before_it_has_for_two_seconds)
{
    struct hr_meter meter = {0};
    struct hr_offload_progress progress = {.elapsed_ns = 10 * HR_NS_PER_S, .place_count = 1};
    progress.places[0] = (struct hr_offload_place_progress){
        .written_bytes = 1000000000, .read_back_bytes = 1000000, .total_bytes = 1000000000};
    /* a GB written in 9.5 s, and in the last half second a MB is read */
    for (int64_t half = 0; half <= 20; half++) {
        struct hr_meter_mark mark = {.at_ns = half * HR_NS_PER_S / 2};
        mark.written_bytes[0] = half < 20 ? times_mb(half, 1000 / 19.0) : 1000000000;
        mark.read_back_bytes[0] = half < 20 ? 0 : 1000000;
        hr__meter_mark(&meter, &mark);
    }
    hr__meter_estimate(&progress, &meter, NULL);
    ck_assert_double_eq_tol(middle_s(&progress), 9.5, 0.7);
}
END_TEST

START_TEST(promises_nothing_of_a_place_that_stands_still)
{
    struct hr_offload_progress progress = after(20, 50, 0, 0, false);
    ck_assert_int_eq(progress.left_low_ns, -1);
    ck_assert_int_eq(progress.left_high_ns, -1);
    ck_assert_double_eq_tol(progress.read_bytes_per_s, 100e6, 1);
}
END_TEST

START_TEST(waits_for_no_place_that_failed_or_is_proven)
{
    struct hr_meter meter = {0};
    struct hr_offload_progress progress = {
        .elapsed_ns = 4 * HR_NS_PER_S, .read_bytes = 400, .total_bytes = 1000, .place_count = 2};
    progress.places[0] = (struct hr_offload_place_progress){.activity = HR_SINK_FAILED, .total_bytes = 1000};
    progress.places[1] = (struct hr_offload_place_progress){.proven_bytes = 500, .total_bytes = 500};
    hr__meter_mark(&meter, &(struct hr_meter_mark){.at_ns = 0});
    hr__meter_mark(&meter, &(struct hr_meter_mark){.at_ns = 4 * HR_NS_PER_S, .read_bytes = 400});
    hr__meter_estimate(&progress, &meter, NULL);
    ck_assert_double_eq_tol(middle_s(&progress), 6, 1e-6);
}
END_TEST

START_TEST(promises_nothing_before_it_has_seen_two_seconds)
{
    struct hr_offload_progress progress = after(2, 250, 250, 250, true);
    ck_assert_int_eq(progress.left_low_ns, -1);
    ck_assert_int_eq(progress.left_high_ns, -1);
}
END_TEST

/* A job for a place of 200 and 100 MB/s and a card of 400 MB/s. */
static struct hr_forecast_job expected_job(void)
{
    struct hr_forecast_job job = {.card_count = 1, .place_count = 1, .overhead_s = 1};
    job.cards[0] = (struct hr_forecast_card){.files = 10, .bytes = 1e9, .read = {.bytes_per_s = 400e6}};
    job.places[0] = (struct hr_forecast_place){
        .files = 10, .bytes = 1e9, .write = {.bytes_per_s = 200e6, .file_s = 0.1}, .read_back = {.bytes_per_s = 100e6}};
    return job;
}

START_TEST(says_at_once_what_was_expected)
{
    struct hr_meter meter = {0};
    struct hr_forecast_job job = expected_job();
    struct hr_offload_progress progress = {.total_bytes = 1000000000, .place_count = 1};
    progress.places[0].total_bytes = 1000000000;
    hr__meter_estimate(&progress, &meter, &job);
    ck_assert_double_eq_tol(middle_s(&progress), 5 + 1 + 10, 1e-6); /* writing, 10 files, reading back */
    /* half written, a tenth read back: half of the files, and 900 MB */
    meter = (struct hr_meter){0};
    progress.read_bytes = progress.places[0].written_bytes = 500000000;
    progress.places[0].read_back_bytes = 100000000;
    hr__meter_estimate(&progress, &meter, &job);
    ck_assert_double_eq_tol(middle_s(&progress), 2.5 + 0.5 + 9, 1e-6);
    /* of its fast cache 100 MB are left */
    meter = (struct hr_meter){0};
    job.places[0].write.fast_bytes = 600e6;
    job.places[0].write.slow_bytes_per_s = 50e6;
    hr__meter_estimate(&progress, &meter, &job);
    ck_assert_double_eq_tol(middle_s(&progress), 0.5 + 8 + 0.5 + 9, 1e-6);
}
END_TEST

/* Drives at steady speeds in lumps of half a second, 0.6 to 1.4 of their speed. Bounds from these plays: no source. */
static const struct played_offload steady[] = {
    {12000, 100, 1, {{300, 300, 1, 0, 0}}, NULL},                      /* the card holds up */
    {12000, 100, 1, {{300, 300, 2, 0, 0}}, NULL},                      /* and with two budgets */
    {12000, 400, 1, {{100, 100, 1, 0, 0}}, NULL},                      /* the place: all is read back after */
    {12000, 400, 1, {{100, 200, 1, 0, 0}}, NULL},                      /* twice as fast as it was written */
    {12000, 400, 1, {{200, 100, 1, 0, 0}}, NULL},                      /* half as fast */
    {12000, 400, 1, {{200, 100, 2, 0, 0}}, NULL},                      /* reading lags behind writing */
    {12000, 400, 1, {{100, 200, 2, 0, 0}}, NULL},                      /* reading waits for writing */
    {12000, 150, 1, {{200, 200, 1, 0, 0}}, NULL},                      /* reads back half beside, half after */
    {12000, 200, 1, {{120, 150, 0.5, 0, 0}}, NULL},                    /* heads */
    {12000, 400, 2, {{150, 200, 1, 0, 0}, {300, 300, 1, 0, 0}}, NULL}, /* a slow place beside a fast one */
    {12000, 200, 2, {{100, 150, 2, 0, 0}, {300, 300, 1, 0, 0}}, NULL},
};
enum { STEADY = sizeof steady / sizeof *steady };

static struct hr_forecast_job job_of(const struct played_offload *offload, double off)
{
    struct hr_forecast_job job = {.card_count = 1, .place_count = offload->place_count};
    double bytes = offload->total_mb * 1e6;
    job.cards[0] = (struct hr_forecast_card){.bytes = bytes,
                                             .read = {.bytes_per_s = offload->card * off * 1e6, .is_measured = true}};
    for (size_t i = 0; i < job.place_count; i++) {
        const struct played_place *place = &offload->places[i];
        job.places[i] =
            (struct hr_forecast_place){.bytes = bytes,
                                       .device = (unsigned)i + 1,
                                       .together = place->together,
                                       .write = {.bytes_per_s = place->write * off * 1e6, .is_measured = true},
                                       .read_back = {.bytes_per_s = place->read_back * off * 1e6, .is_measured = true}};
    }
    return job;
}

static struct played_said said;

START_TEST(is_right_within_four_in_a_hundred_where_speeds_are_known)
{
    double held = 0;
    for (size_t i = 0; i < STEADY; i++) {
        struct hr_forecast_job job = job_of(&steady[i], 1);
        struct played_offload offload = steady[i];
        offload.expected = &job;
        played_offload_run(&said, &offload);
        ck_assert_msg(fabs(played_error(&said, 0.25)) <= 0.04, "row %zu: %g", i, played_error(&said, 0.25));
        ck_assert_msg(fabs(played_error(&said, 0.5)) <= 0.04, "row %zu: %g", i, played_error(&said, 0.5));
        ck_assert_msg(played_jump(&said) <= 0.02, "row %zu jumps by %g", i, played_jump(&said));
        held += played_held(&said) / STEADY;
    }
    ck_assert_double_ge(held, 0.85);
}
END_TEST

/* All rows but those in which a place reads at another speed than it writes, which nothing shows before it does. */
START_TEST(is_right_within_five_in_a_hundred_where_none_is)
{
    static const bool shows_late[STEADY] = {[3] = true, [4] = true, [8] = true, [9] = true};
    for (size_t i = 0; i < STEADY; i++) {
        double most = shows_late[i] ? 0.4 : 0.05;
        played_offload_run(&said, &steady[i]);
        ck_assert_msg(fabs(played_error(&said, 0.25)) <= most, "row %zu: %g", i, played_error(&said, 0.25));
        ck_assert_msg(fabs(played_error(&said, 0.5)) <= most, "row %zu: %g", i, played_error(&said, 0.5));
        ck_assert_msg(fabs(played_error(&said, 0.75)) <= 0.06, "row %zu: %g", i, played_error(&said, 0.75));
        ck_assert_msg(played_jump(&said) <= 0.05, "row %zu jumps by %g", i, played_jump(&said));
    }
}
END_TEST

START_TEST(comes_to_believe_what_it_sees_where_something_else_was_expected)
{
    for (size_t i = 0; i < STEADY; i++) {
        struct hr_forecast_job job = job_of(&steady[i], i % 2 ? 0.8 : 1.25);
        struct played_offload offload = steady[i];
        offload.expected = &job;
        played_offload_run(&said, &offload);
        double at_first = fabs(played_error(&said, 0.01)), late = fabs(played_error(&said, 0.75));
        ck_assert_msg(at_first > 0.15 && late < 0.05, "row %zu: %g, %g", i, at_first, late);
    }
}
END_TEST

/* At 10,000 of 20,000 MB the drive writes at half its speed, which nothing can foresee; soon after it is known. */
START_TEST(follows_a_drive_that_slows_down_midway_without_a_jump)
{
    static const struct played_offload rows[] = {
        {20000, 400, 1, {{100, 120, 2, 10000, 0}}, NULL},
        {20000, 400, 1, {{200, 200, 1, 10000, 0}}, NULL},
        {20000, 150, 1, {{200, 200, 1, 10000, 0}}, NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct hr_forecast_job job = job_of(&rows[i], 1);
        struct played_offload offload = rows[i];
        offload.expected = &job;
        played_offload_run(&said, &offload);
        double slowed = played_share_when_written(&said, 10000), known = slowed + 30 / said.seconds;
        ck_assert_msg(played_error(&said, slowed) < -0.15, "row %zu: %g", i, played_error(&said, slowed));
        ck_assert_msg(fabs(played_error(&said, known)) <= 0.08, "row %zu: %g", i, played_error(&said, known));
        ck_assert_msg(played_jump(&said) <= 0.05, "row %zu jumps by %g", i, played_jump(&said));
    }
}
END_TEST

START_TEST(is_not_moved_by_a_stall_more_than_it_costs)
{
    static const struct played_offload row = {24000, 400, 1, {{100, 120, 2, 0, 80}}, NULL};
    played_offload_run(&said, &row);
    double before = 79 / said.seconds, worst = 0;
    for (double share = before; share < before + 45 / said.seconds; share += 0.5 / said.seconds)
        worst = fmax(worst, played_error(&said, share));
    ck_assert_double_le(worst, played_error(&said, before) + 5 / said.seconds + 0.03);
}
END_TEST

HR_SUITE("offload/meter", gives_rates_and_a_range_of_time_left, takes_a_place_that_was_busy_writing_to_read_as_it_wrote,
         takes_a_place_that_has_just_begun_to_read_back_for_as_fast_as_it_is,
         does_not_believe_how_a_place_reads_before_it_has_for_two_seconds,
         promises_nothing_of_a_place_that_stands_still, waits_for_no_place_that_failed_or_is_proven,
         promises_nothing_before_it_has_seen_two_seconds, says_at_once_what_was_expected,
         is_right_within_four_in_a_hundred_where_speeds_are_known, is_right_within_five_in_a_hundred_where_none_is,
         comes_to_believe_what_it_sees_where_something_else_was_expected,
         follows_a_drive_that_slows_down_midway_without_a_jump, is_not_moved_by_a_stall_more_than_it_costs)
