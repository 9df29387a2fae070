/* SPDX-License-Identifier: ISC */
#include <math.h>

#include <headrace/forecast.h>

#include "base/median.h"

static const double range_share = 0.9;
/* Half the width of the range of a logarithm while too few errors are known. A prior is off by 0.4, and 0.9 of a normal
 * distribution lie within 1.645 of that; the others are measured (tests/bench/forecast.sh). */
static const double width_of_basis[] = {
    [HR_BASIS_CEILINGS] = 0.4 * 1.645, [HR_BASIS_MEASURED] = 0.08, [HR_BASIS_RUNS] = 0.02};

size_t hr_conformal_rank(size_t error_count, double share)
{
    /* less a rounding error: 0.9 is not quite 9 / 10 */
    double rank = ceil((double)(error_count + 1) * share - 1e-9);
    return rank <= (double)error_count ? (size_t)rank : 0;
}

static double half_width(const double *log_errors, size_t count, enum hr_forecast_basis basis)
{
    double sizes[HR_FORECAST_ERRORS_MAX];
    size_t taken = count < HR_FORECAST_ERRORS_MAX ? count : HR_FORECAST_ERRORS_MAX;
    size_t rank = hr_conformal_rank(taken, range_share);
    if (rank == 0)
        return width_of_basis[basis];
    for (size_t i = 0; i < taken; i++)
        sizes[i] = fabs(log_errors[i]);
    hr__sort_values(sizes, taken);
    return sizes[rank - 1];
}

struct hr_forecast_range hr_forecast_range(double seconds, const double *log_errors, size_t error_count,
                                           enum hr_forecast_basis basis)
{
    double factor = exp(half_width(log_errors, error_count, basis));
    return (struct hr_forecast_range){.low_s = seconds / factor, .high_s = seconds * factor};
}
