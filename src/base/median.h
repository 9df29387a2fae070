/* SPDX-License-Identifier: ISC */
/* The middle of values, which a few wild ones do not move. */
#ifndef HR_BASE_MEDIAN_H
#define HR_BASE_MEDIAN_H

#include <stddef.h>

/* Smallest first; none of them is NaN. */
void hr__sort_values(double *values, size_t count);
/* Sorts them as well. Of an even count the mean of the two in the middle; of none 0. */
double hr__median(double *values, size_t count);

#endif
