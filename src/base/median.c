/* SPDX-License-Identifier: ISC */
#include "base/median.h"

#include <stdlib.h>

static int compare(const void *left, const void *right)
{
    double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

void hr__sort_values(double *values, size_t count)
{
    if (count > 1)
        qsort(values, count, sizeof *values, compare);
}

double hr__median(double *values, size_t count)
{
    hr__sort_values(values, count);
    return count > 0 ? (values[(count - 1) / 2] + values[count / 2]) / 2 : 0;
}
