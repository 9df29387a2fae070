/* SPDX-License-Identifier: ISC */
/* Where in a burst the camera's buffer was full: the frames' times are fitted by two lines that meet at a frame, any
 * frame (least squares), and that is believed when two lines explain them much better than one does.
 *
 * Guards, of our own simulations: both parts last three steps of the clock and a
 * second, or hold 16 frames; the second is
 * slower by 5 % at least; the gain in the Bayesian information criterion (Schwarz 1978) is over 2 ln n, with the
 * variance of a rounded clock, q^2/12, as its floor. Frames that are missing lengthen single gaps: these are put right
 * where the clock shows them, and a stall must cost more frames than they could. */
#ifndef HR_SEQUENCE_STALL_H
#define HR_SEQUENCE_STALL_H

#include <stdbool.h>
#include <stddef.h>

struct hr_stall_fit {
    size_t full_at;     /* the first frame that waited */
    double held_per_s;  /* cadence before it */
    double drain_per_s; /* and from it on */
    double confidence;  /* weight of two lines against one: 1 / (1 + exp(-gain / 2)) */
};

/* `at_s`: `count` times of one burst; `scratch` has room for 2 * `count`. False: no stall that can be shown. */
bool hr__stall_find(struct hr_stall_fit *out, const double *at_s, size_t count, double resolution_s, double *scratch);

#endif
