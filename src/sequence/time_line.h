/* SPDX-License-Identifier: ISC */
/* The stamps of one body's frames as one line of time. */
#ifndef HR_SEQUENCE_TIME_LINE_H
#define HR_SEQUENCE_TIME_LINE_H

#include <headrace/sequence.h>

struct hr_time_line {
    double *at_s; /* one a frame in order; within a segment it never falls by more than the clock's resolution */
    bool *is_cut; /* a frame before which the clock was set, or another job begins: nothing is grouped across it */
    size_t count;
    double resolution_s; /* the coarsest power of ten that explains all stamps: 1, 0.1, 0.01 ... never the digits a file
                            is written with, for some bodies write zeros */
    struct hr_clock_change *changes; /* `body` is not set */
    size_t change_count;
};

/* `order`: hr__frames_order. Stamps are taken as UTC where all have an offset, so that a change to summer time that the
 * camera knows of is none. Elsewhere a jump of an hour exactly within a play (`gap_s`) is taken for summer time that it
 * does not know of, and put right. Jobs follow one another by name: between them nothing is taken for a jump. HR_NOMEM; finish takes a zeroed one. */
HR_MUST_USE enum hr_status hr__time_line_create(struct hr_time_line *out, const uint32_t *order, size_t count,
                                                const struct hr_frame *frames, double gap_s, struct hr_fault *fault);
void hr__time_line_finish(struct hr_time_line *line);

#endif
