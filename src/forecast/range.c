/* SPDX-License-Identifier: ISC */
#include <math.h>

#include <headrace/forecast.h>

#include "base/median.h"

static const double range_share = 0.9;
/* Half the width of the range of a logarithm while too few errors are known: guesses. A prior is off by 0.4, and 0.9 of
 * a normal distribution lie within 1.645 of that. */
static const double measured_width = 0.25, prior_width = 0.4 * 1.645;

size_t hr_conformal_rank(size_t error_count, double share)
{
    /* less a rounding error: 0.9 is not quite 9 / 10 */
    double rank = ceil((double)(error_count + 1) * share - 1e-9);
    return rank <= (double)error_count ? (size_t)rank : 0;
}

static double half_width(const double *log_errors, size_t count, bool is_measured)
{
    double sizes[HR_FORECAST_ERRORS_MAX];
    size_t taken = count < HR_FORECAST_ERRORS_MAX ? count : HR_FORECAST_ERRORS_MAX;
    size_t rank = hr_conformal_rank(taken, range_share);
    if (rank == 0)
        return is_measured ? measured_width : prior_width;
    for (size_t i = 0; i < taken; i++)
        sizes[i] = fabs(log_errors[i]);
    hr__sort_values(sizes, taken);
    return sizes[rank - 1];
}

struct hr_forecast_range hr_forecast_range(double seconds, const double *log_errors, size_t error_count,
                                           bool is_measured)
{
    double factor = exp(half_width(log_errors, error_count, is_measured));
    return (struct hr_forecast_range){.low_s = seconds / factor, .high_s = seconds * factor};
}
