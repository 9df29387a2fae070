/* SPDX-License-Identifier: ISC */
/* How good ranges of forecasts are, for the judge of them. */
#ifndef HR_TESTS_FORECAST_SCORE_H
#define HR_TESTS_FORECAST_SCORE_H

#include <stdbool.h>
#include <stddef.h>

/* What a forecast `q` of the quantile `tau` costs when `y` comes: max(tau (y - q), (tau - 1) (y - q)) (Koenker and
 * Bassett 1978). */
double forecast_pinball_loss(double tau, double q, double y);

struct forecast_coverage {
    size_t low, high;
};
/* How many of `jobs` ranges of `share` hold the truth, where each does by its share: the central `band` of the binomial
 * distribution. */
struct forecast_coverage forecast_coverage(size_t jobs, double share, double band);

#endif
