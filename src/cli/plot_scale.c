/* SPDX-License-Identifier: ISC */
#include "cli/plot_scale.h"

#include <stddef.h>

double plot_round_step(double most, int ticks_max)
{
    const double factors[] = {1, 2, 5};
    double decade = 1;
    if (!(most > 0))
        return 1;
    while (decade * ticks_max >= most)
        decade /= 10;
    while (decade * 10 * ticks_max < most)
        decade *= 10;
    for (size_t i = 0; i < sizeof factors / sizeof *factors; i++)
        if (decade * factors[i] * ticks_max >= most)
            return decade * factors[i];
    return decade * 10;
}

double plot_clock_step(double most_s, int ticks_max)
{
    static const double steps_s[] = {1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 21600, 43200};
    for (size_t i = 0; i < sizeof steps_s / sizeof *steps_s; i++)
        if (steps_s[i] * ticks_max >= most_s)
            return steps_s[i];
    return 86400;
}
