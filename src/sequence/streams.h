/* SPDX-License-Identifier: ISC */
/* Which body took a frame: its serial; without one, its model and the numbers it gives its files. */
#ifndef HR_SEQUENCE_STREAMS_H
#define HR_SEQUENCE_STREAMS_H

#include <headrace/sequence.h>

/* The frames of one body. */
struct hr_stream {
    const char *serial, *model;
    uint32_t *frames; /* indices into the frames handed in; a run of hr_streams.frames */
    size_t count;
};

struct hr_streams {
    struct hr_stream *streams;
    size_t count;
    uint32_t *frames; /* stream after stream */
};

/* Sorts the `chosen_count` frames at `chosen` (which have a time) into streams. Bodies of one model without serials
 * are told apart by the numbers of their files: two that are used at the same time count on side by side. HR_NOMEM.
 * Finish takes a zeroed one. */
HR_MUST_USE enum hr_status hr__streams_split(struct hr_streams *out, const struct hr_frame *frames,
                                             const uint32_t *chosen, size_t chosen_count, struct hr_fault *fault);
void hr__streams_finish(struct hr_streams *streams);

#endif
