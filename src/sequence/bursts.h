/* SPDX-License-Identifier: ISC */
/* Where bursts end, and how fast they were. */
#ifndef HR_SEQUENCE_BURSTS_H
#define HR_SEQUENCE_BURSTS_H

#include "sequence/time_line.h"

/* Does a burst end before frame `i` (> 0), when it began with frame `first`? It does at a gap of more than three
 * intervals, two steps of the clock and 0.4 s, unless what follows comes as regularly as that gap: a camera whose
 * buffer is full waits for a slow card. */
bool hr__burst_ends(const struct hr_time_line *line, size_t first, size_t i);

/* Frames a second of `count` (>= 2) frames at `at_s`; 0 where the clock is too coarse to tell. From the commonest
 * interval where the clock shows single intervals, so that a frame that is missing does not count; else frames over
 * time. `scratch` has room for `count`. */
double hr__cadence(const double *at_s, size_t count, double resolution_s, double *scratch);

#endif
