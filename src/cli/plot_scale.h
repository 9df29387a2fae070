/* SPDX-License-Identifier: ISC */
/* Round ticks for axes. */
#ifndef HR_CLI_PLOT_SCALE_H
#define HR_CLI_PLOT_SCALE_H

/* The smallest of 1, 2, 5 times a power of ten that covers `most` in at most `ticks_max` steps; 1 when `most` is 0. */
double plot_round_step(double most, int ticks_max);
/* The same for seconds, in steps a clock has: 1, 2, 5, 10, 15, 30 s, 1, 2, 5, 10, 15, 30 min, 1, 2, 6, 12, 24 h. */
double plot_clock_step(double most_s, int ticks_max);

#endif
