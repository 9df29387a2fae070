/* SPDX-License-Identifier: ISC */
/* Figures from windows of bytes and seconds. The expected values are computed by hand from the series that is given. */
#include "devices/measure_windows.h"

#include "base/units.h"
#include "suite.h"

static struct hr_windows windows;

static void start(void)
{
    windows = (struct hr_windows){.least_ns = HR_NS_PER_S / 10};
    hr__windows_start(&windows, 0);
}

/* `seconds` at `rate` bytes a second, a tenth of a second a window. */
static void add(double seconds, double rate)
{
    for (int i = 0; i < (int)(seconds * 10 + 0.5); i++)
        ck_assert(hr__windows_moved(&windows, 0, rate / 10, true, windows.since_ns + HR_NS_PER_S / 10));
}

START_TEST(closes_a_window_when_it_is_long_enough_and_what_is_in_it_arrived)
{
    start();
    ck_assert(!hr__windows_moved(&windows, 1, 1000, true, HR_NS_PER_S / 20));
    ck_assert(!hr__windows_moved(&windows, 1, 1000, false, HR_NS_PER_S / 5));
    ck_assert_uint_eq(windows.count, 0);
    ck_assert(hr__windows_moved(&windows, 0, 0, true, HR_NS_PER_S / 4));
    ck_assert_uint_eq(windows.count, 1);
    ck_assert_double_eq(windows.windows[0].files, 2);
    ck_assert_double_eq(windows.windows[0].bytes, 2000);
    ck_assert_double_eq(windows.windows[0].seconds, 0.25);
    hr__windows_finish(&windows);
}
END_TEST

START_TEST(counts_no_pause_between_windows)
{
    start();
    add(1, 100e6);
    hr__windows_start(&windows, 20 * HR_NS_PER_S);
    add(1, 100e6);
    struct hr_measured measured;
    hr__windows_measure(&measured, &windows);
    ck_assert_double_eq_tol(measured.speed.bytes_per_s, 100e6, 1);
    hr__windows_finish(&windows);
}
END_TEST

START_TEST(leaves_out_what_a_device_at_rest_takes_on_credit)
{
    start();
    add(0.5, 900e6);
    add(2, 200e6);
    struct hr_measured measured;
    hr__windows_measure(&measured, &windows);
    ck_assert_double_eq_tol(measured.speed.bytes_per_s, 200e6, 1);
    ck_assert_double_eq_tol(measured.seconds, 2, 1e-9);
    ck_assert_double_eq_tol(measured.slowest_second_bytes_per_s, 200e6, 1);
    ck_assert_double_eq_tol(measured.spread, 0, 1e-9);
    ck_assert_uint_eq(measured.bytes, 400000000);
    ck_assert(measured.speed.is_measured);
    hr__windows_finish(&windows);
}
END_TEST

START_TEST(keeps_half_of_a_measurement_that_was_over_at_once)
{
    start();
    add(0.4, 1e9);
    struct hr_measured measured;
    hr__windows_measure(&measured, &windows);
    ck_assert_double_eq_tol(measured.seconds, 0.2, 1e-9);
    ck_assert_double_eq(measured.slowest_second_bytes_per_s, 0);
    hr__windows_finish(&windows);
}
END_TEST

START_TEST(takes_what_is_too_short_for_a_window_when_it_is_all)
{
    start();
    ck_assert(!hr__windows_moved(&windows, 1, 4e6, true, HR_NS_PER_S / 50));
    hr__windows_end(&windows, HR_NS_PER_S / 50);
    struct hr_measured measured;
    hr__windows_measure(&measured, &windows);
    ck_assert_double_eq_tol(measured.speed.bytes_per_s, 200e6, 1);
    ck_assert(!hr__windows_moved(&windows, 1, 4e6, true, HR_NS_PER_S / 25));
    hr__windows_end(&windows, HR_NS_PER_S / 25);
    ck_assert_uint_eq(windows.count, 1);
    hr__windows_finish(&windows);
}
END_TEST

/* Large: 24 MB a file, small: 0.06 MB; 0.5 ms a file and 200 MB/s. Computed. */
START_TEST(tells_the_cost_of_a_file_from_that_of_a_byte)
{
    struct hr_windows small = {.least_ns = 1};
    struct hr_speed speed = {.bytes_per_s = 1};
    start();
    ck_assert(hr__windows_moved(&windows, 10, 240e6, true, (int64_t)(1.205 * HR_NS_PER_S)));
    hr__windows_start(&small, 0);
    hr__windows_tell_apart(&speed, &windows, &small);
    ck_assert_double_eq(speed.bytes_per_s, 1);
    ck_assert(hr__windows_moved(&small, 1000, 60e6, true, (int64_t)(0.8 * HR_NS_PER_S)));
    hr__windows_tell_apart(&speed, &windows, &small);
    ck_assert_double_eq_tol(speed.bytes_per_s, 200e6, 1);
    ck_assert_double_eq_tol(speed.file_s, 0.0005, 1e-9);
    /* Small files that took less than their bytes alone would: no cost is known. */
    small.windows[0].seconds = 0.2;
    speed = (struct hr_speed){.bytes_per_s = 1};
    hr__windows_tell_apart(&speed, &windows, &small);
    ck_assert_double_eq(speed.bytes_per_s, 1);
    ck_assert_double_eq(speed.file_s, 0);
    hr__windows_finish(&windows);
    hr__windows_finish(&small);
}
END_TEST

START_TEST(gives_nothing_where_nothing_was_moved)
{
    start();
    struct hr_measured measured;
    hr__windows_measure(&measured, &windows);
    ck_assert_uint_eq(measured.bytes, 0);
    ck_assert_double_eq(measured.speed.bytes_per_s, 0);
    struct hr_rate_step step;
    ck_assert(!hr__windows_step(&step, &windows));
    hr__windows_finish(&windows);
}
END_TEST

START_TEST(finds_the_slowest_second_wherever_it_begins)
{
    start();
    add(0.5, 100e6);
    add(1.3, 100e6);
    add(1, 20e6);
    add(1.2, 100e6);
    struct hr_measured measured;
    hr__windows_measure(&measured, &windows);
    ck_assert_double_eq_tol(measured.slowest_second_bytes_per_s, 20e6, 1);
    ck_assert_double_eq_tol(measured.speed.bytes_per_s, (2.5 * 100e6 + 20e6) / 3.5, 1);
    hr__windows_finish(&windows);
}
END_TEST

/* Rates after the first half second: 80 x 5, 100 x 10, 120 x 5: quartiles 95 and 105 of the sorted twenty, median 100.
 */
START_TEST(takes_the_spread_from_the_quartiles)
{
    start();
    add(0.5, 100e6);
    add(0.5, 80e6);
    add(1, 100e6);
    add(0.5, 120e6);
    struct hr_measured measured;
    hr__windows_measure(&measured, &windows);
    ck_assert_double_eq_tol(measured.spread, 0.1, 1e-9);
    hr__windows_finish(&windows);
}
END_TEST

/* check-values, two-phase write: 1000 MB/s for 60,000 MB, then 300 MB/s. Computed. */
START_TEST(finds_where_a_fast_cache_ends)
{
    start();
    add(60, 1000e6);
    add(20, 300e6);
    struct hr_rate_step step;
    ck_assert(hr__windows_step(&step, &windows));
    ck_assert_double_eq_tol(step.fast_bytes, 60000e6, 1);
    ck_assert_double_eq_tol(step.fast_bytes_per_s, 1000e6, 1e3);
    ck_assert_double_eq_tol(step.slow_bytes_per_s, 300e6, 1e3);
    hr__windows_finish(&windows);
}
END_TEST

/* Every window off by up to 30 %, by a fixed series. */
static void add_noisy(double seconds, double rate)
{
    static uint32_t random = 20260101;
    for (int i = 0; i < (int)(seconds * 10 + 0.5); i++) {
        random = random * 1664525 + 1013904223;
        add(0.1, rate * (0.7 + 0.6 * (double)(random >> 8) / (1 << 24)));
    }
}

START_TEST(finds_it_among_uneven_windows)
{
    start();
    add_noisy(12, 400e6);
    add_noisy(8, 90e6);
    struct hr_rate_step step;
    ck_assert(hr__windows_step(&step, &windows));
    ck_assert_double_eq_tol(step.fast_bytes, 12 * 400e6, 0.05 * 12 * 400e6);
    ck_assert_double_eq_tol(step.slow_bytes_per_s, 90e6, 9e6);
    hr__windows_finish(&windows);
}
END_TEST

START_TEST(takes_no_wavering_for_a_step)
{
    static const double series[][2] = {
        {30, 100e6},                           /* even */
        {26, 400e6}, {4, 100e6},               /* slow, but not for long enough yet */
        {10, 100e6}, {10, 90e6},               /* hardly slower */
        {10, 100e6}, {10, 300e6},              /* faster */
        {10, 400e6}, {3, 100e6},  {17, 400e6}, /* slow for a while only */
    };
    static const size_t lengths[] = {1, 2, 2, 2, 3};
    size_t at = 0;
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
        start();
        for (size_t k = 0; k < lengths[i]; k++, at++)
            add(series[at][0], series[at][1]);
        struct hr_rate_step step;
        ck_assert_msg(!hr__windows_step(&step, &windows), "series %zu", i);
        hr__windows_finish(&windows);
    }
}
END_TEST

HR_SUITE("devices/measure_windows", closes_a_window_when_it_is_long_enough_and_what_is_in_it_arrived,
         counts_no_pause_between_windows, leaves_out_what_a_device_at_rest_takes_on_credit,
         keeps_half_of_a_measurement_that_was_over_at_once, takes_what_is_too_short_for_a_window_when_it_is_all,
         tells_the_cost_of_a_file_from_that_of_a_byte, gives_nothing_where_nothing_was_moved,
         finds_the_slowest_second_wherever_it_begins, takes_the_spread_from_the_quartiles,
         finds_where_a_fast_cache_ends, finds_it_among_uneven_windows, takes_no_wavering_for_a_step)
