/* SPDX-License-Identifier: ISC */
#include "forecast_score.h"

#include <math.h>

double forecast_pinball_loss(double tau, double q, double y)
{
    return fmax(tau * (y - q), (tau - 1) * (y - q));
}

/* Chance that `hits` of `jobs` come true. */
static double chance(size_t hits, size_t jobs, double share)
{
    double n = (double)jobs, k = (double)hits;
    double ways = lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1);
    return exp(ways + k * log(share) + (n - k) * log(1 - share));
}

/* The smallest number that is not passed with this chance. */
static size_t quantile(size_t jobs, double share, double below)
{
    size_t hits = 0;
    for (double sum = chance(0, jobs, share); sum < below && hits < jobs; sum += chance(hits, jobs, share))
        hits++;
    return hits;
}

struct forecast_coverage forecast_coverage(size_t jobs, double share, double band)
{
    return (struct forecast_coverage){quantile(jobs, share, (1 - band) / 2), quantile(jobs, share, (1 + band) / 2)};
}
