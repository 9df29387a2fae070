/* SPDX-License-Identifier: ISC */
#include <headrace/forecast.h>

#include <math.h>

#include "suite.h"

/* k = ceil((n + 1) 0.9), computed by hand. */
START_TEST(ranks_errors_by_the_conformal_rule)
{
    static const size_t rows[][2] = {{0, 0}, {5, 0}, {8, 0}, {9, 9}, {10, 10}, {19, 18}, {20, 19}, {50, 46}, {99, 90}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_msg(hr_conformal_rank(rows[i][0], 0.9) == rows[i][1], "n = %zu", rows[i][0]);
}
END_TEST

/* The errors are 1..9 hundredths, one way or the other: the ninth is 0.09. With one more, of nothing, it is the tenth.
 */
START_TEST(reaches_as_far_as_nine_of_ten_errors_either_way)
{
    double errors[] = {0.03, -0.09, 0.01, 0.02, -0.04, 0.05, 0.08, -0.07, 0.06, 0};
    struct hr_forecast_range range = hr_forecast_range(100, errors, 9, HR_BASIS_MEASURED);
    ck_assert_double_eq_tol(range.high_s, 100 * exp(0.09), 1e-9);
    ck_assert_double_eq_tol(range.low_s, 100 * exp(-0.09), 1e-9);
    ck_assert_double_eq_tol(hr_forecast_range(100, errors, 10, HR_BASIS_MEASURED).high_s, 100 * exp(0.09), 1e-9);
}
END_TEST

/* The first from the prior, the others measured by tests/bench/forecast.sh; no source. */
START_TEST(goes_by_its_basis_before_nine_errors_are_known)
{
    double errors[8] = {0};
    ck_assert_double_eq_tol(hr_forecast_range(100, errors, 8, HR_BASIS_RUNS).high_s, 100 * exp(0.02), 1e-9);
    ck_assert_double_eq_tol(hr_forecast_range(100, errors, 8, HR_BASIS_MEASURED).high_s, 100 * exp(0.08), 1e-9);
    ck_assert_double_eq_tol(hr_forecast_range(100, errors, 8, HR_BASIS_CEILINGS).high_s, 100 * exp(0.658), 1e-9);
    ck_assert_double_eq_tol(hr_forecast_range(100, NULL, 0, HR_BASIS_CEILINGS).low_s, 100 * exp(-0.658), 1e-9);
}
END_TEST

START_TEST(looks_at_so_many_errors_and_no_more)
{
    double errors[HR_FORECAST_ERRORS_MAX + 100];
    for (size_t i = 0; i < sizeof errors / sizeof *errors; i++)
        errors[i] = i < HR_FORECAST_ERRORS_MAX ? 0.01 : 1;
    ck_assert_double_eq_tol(hr_forecast_range(100, errors, sizeof errors / sizeof *errors, HR_BASIS_MEASURED).high_s,
                            100 * exp(0.01), 1e-9);
}
END_TEST

/* Of errors that come by one law, k of n + 1 are within the range: by simulation, 20 known and one more, 4,000 times.
 */
START_TEST(holds_the_next_of_errors_of_one_law_as_often_as_the_rule_says)
{
    unsigned seed = 1, hits = 0;
    for (unsigned round = 0; round < 4000; round++) {
        double errors[21];
        for (size_t i = 0; i < 21; i++) {
            seed = seed * 1664525u + 1013904223u;
            double share = (seed >> 8) / 16777216.0;
            errors[i] = 0.1 * log((share + 1e-6) / (1 - share + 1e-6));
        }
        struct hr_forecast_range range = hr_forecast_range(1, errors, 20, HR_BASIS_MEASURED);
        double real = exp(errors[20]);
        hits += real >= range.low_s && real <= range.high_s;
    }
    ck_assert_double_eq_tol(hits / 4000.0, 19.0 / 21, 0.015);
}
END_TEST

HR_SUITE("forecast/range", ranks_errors_by_the_conformal_rule, reaches_as_far_as_nine_of_ten_errors_either_way,
         goes_by_its_basis_before_nine_errors_are_known, looks_at_so_many_errors_and_no_more,
         holds_the_next_of_errors_of_one_law_as_often_as_the_rule_says)
