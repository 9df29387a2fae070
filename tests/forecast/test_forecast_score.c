/* SPDX-License-Identifier: ISC */
#include "forecast_score.h"
#include "suite.h"

/* Computed by hand from the definition. */
START_TEST(costs_nine_where_the_truth_is_ten_over_the_quantile_and_one_where_it_is_ten_under)
{
    ck_assert_double_eq_tol(forecast_pinball_loss(0.9, 90, 100), 9, 1e-12);
    ck_assert_double_eq_tol(forecast_pinball_loss(0.9, 90, 80), 1, 1e-12);
    ck_assert_double_eq(forecast_pinball_loss(0.9, 90, 90), 0);
}
END_TEST

/* The central 99 % of the binomial distribution, computed elsewhere from its definition. */
START_TEST(accepts_as_many_hits_as_chance_allows)
{
    static const struct {
        size_t jobs, low, high;
    } rows[] = {{50, 39, 50}, {100, 82, 97}, {200, 168, 190}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct forecast_coverage accepted = forecast_coverage(rows[i].jobs, 0.9, 0.99);
        ck_assert_uint_eq(accepted.low, rows[i].low);
        ck_assert_uint_eq(accepted.high, rows[i].high);
    }
}
END_TEST

HR_SUITE("forecast/score", costs_nine_where_the_truth_is_ten_over_the_quantile_and_one_where_it_is_ten_under,
         accepts_as_many_hits_as_chance_allows)
