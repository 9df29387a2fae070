/* SPDX-License-Identifier: ISC */
/* The camera's buffer: how long can the shutter be held. Pure arithmetic.
 *
 * A buffer holds `depth` frames and the card takes `drain` a second out of it. Shooting f a second it fills by f - r a
 * second, so it is full after N = b / (1 - r / f) frames, N / f seconds; then the camera goes on at r a second, and
 * once the finger is lifted it is empty again after b / r seconds. Where r >= f it never fills. Files k times as large
 * make b and r k times smaller. (Arithmetic; no source.) */
#ifndef HEADRACE_BUFFER_H
#define HEADRACE_BUFFER_H

#include <stdbool.h>
#include <stddef.h>

#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

struct hr_buffer {
    double depth_frames, drain_per_s;
};

/* INFINITY where it never fills. */
HR_API double hr_buffer_frames_until_full(const struct hr_buffer *buffer, double per_s);
HR_API double hr_buffer_seconds_until_full(const struct hr_buffer *buffer, double per_s);
HR_API double hr_buffer_seconds_to_clear(const struct hr_buffer *buffer); /* from full; INFINITY without drain */
/* The same camera with files `size` times as large (0.7: smaller files, more frames). */
HR_API struct hr_buffer hr_buffer_with_size(const struct hr_buffer *buffer, double size);

/* ---- From counts ---- */

/* Frames until the camera stopped, at a rate: what a person counts with a stop watch, or `sequences` finds. */
struct hr_buffer_count {
    double per_s, frames;
    double predicted; /* out: by the fit */
    double residual;  /* out: frames / predicted - 1 */
};

struct hr_buffer_range {
    double low, high;
};

/* Why a fit is to be read with care; bits. */
enum {
    HR_FIT_ONE_COUNT = 1,    /* it gives a relation alone: depth = frames x (1 - drain / rate); the fit has no drain */
    HR_FIT_NO_SLOW_RATE = 2, /* no rate near the drain: the slower the rate, the less the fit says of it */
    HR_FIT_TWO_COUNTS = 4    /* nothing is left over to judge the counts by: the ranges rest on `count_error` */
};

struct hr_buffer_fit {
    struct hr_buffer buffer;
    struct hr_buffer_range depth, drain; /* 90 % */
    unsigned cautions;
};

/* Least squares on log N (Gauss and Newton's steps, from the weighted line of 1/N on 1/f): a count is off by a share of
 * itself, not by a number of frames. The ranges come from the residuals, taken as `count_error` (a share; 0: 0.015) at
 * least. HR_INVALID, with a sentence, for no counts, counts or rates that are not above 0, two counts at one rate that
 * differ by more than a third, and counts that no buffer gives: fewer frames at a slower rate, or a drain below 0. */
HR_API HR_MUST_USE enum hr_status hr_buffer_fit_counts(struct hr_buffer_fit *out, struct hr_buffer_count *counts,
                                                       size_t count, double count_error, struct hr_fault *fault);

/* ---- From stalled bursts ---- */

/* A burst in which the buffer ran full. */
struct hr_buffer_stall {
    double per_s, frames; /* as held before, and so many until it was full */
    double drain_per_s;   /* from there on */
    double drain_bytes_per_s;
    double rest_s; /* since the burst before of that body; INFINITY: there is none */
};

struct hr_buffer_stalls {
    struct hr_buffer buffer; /* medians; depth 0: no burst began with an empty buffer */
    struct hr_buffer_range depth, drain;
    double drain_bytes_per_s; /* 0: not known */
    size_t rested_count; /* bursts that began with an empty buffer and drained as the others: they tell the depth */
    bool has_fit;
    struct hr_buffer_fit fit; /* from the counts of bursts at several rates, a second opinion */
};

/* The ranges go from the lowest to the highest. HR_INVALID for no stalls or figures that are not above 0; HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_buffer_from_stalls(struct hr_buffer_stalls *out,
                                                        const struct hr_buffer_stall *stalls, size_t count,
                                                        struct hr_fault *fault);

/* ---- A play ---- */

/* The finger down for `hold_s` at a rate, then up for `rest_s`. */
struct hr_hold {
    double hold_s, per_s, rest_s;
};
/* From this fill on (a share of the depth), shoot at this rate. */
struct hr_easing {
    double at_fill, per_s;
};

/* The fill changes evenly from one moment to the next. */
struct hr_buffer_moment {
    double at_s, fill; /* share of the depth */
    double per_s;      /* frames a second from here on; 0 while the finger is up */
};

struct hr_buffer_plan {
    double frames;
    double full_at_s; /* the first time it ran full; -1: it did not */
    double last_fill; /* when the last hold begins */
    bool last_runs;   /* the last hold keeps its rates to its end */
    struct hr_buffer_moment *timeline;
    size_t moment_count;
};

enum { HR_HOLDS_MAX = 64, HR_EASINGS_MAX = 8, HR_HOLD_RATE_MAX = 1000 };

/* From an empty buffer. `easings` by rising fill, falling rate; a step that is faster than the hold itself does
 * nothing. On HR_OK the caller releases *out (hr_buffer_plan_finish, which takes a zeroed one). HR_INVALID with a
 * sentence; HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_buffer_plan(struct hr_buffer_plan *out, const struct hr_buffer *buffer,
                                                 const struct hr_hold *holds, size_t hold_count,
                                                 const struct hr_easing *easings, size_t easing_count,
                                                 struct hr_fault *fault);
HR_API void hr_buffer_plan_finish(struct hr_buffer_plan *plan);

/* How many seconds to leave out at the ends of the holds before the last, nearest first, so that the last runs its
 * length; 0 where it does anyhow. HR_NOT_FOUND when it would not run from an empty buffer either: *out is then what it
 * is too long by. */
HR_API HR_MUST_USE enum hr_status hr_buffer_hold_back(double *out_s, const struct hr_buffer *buffer,
                                                      const struct hr_hold *holds, size_t hold_count,
                                                      struct hr_fault *fault);

/* The one easing step, by whole percents of fill and whole frames a second, with which the last hold runs and most
 * frames are got; where none lets it run, the one that gets most in the
 * last hold. HR_NOT_FOUND, and nothing in the fault, when the last hold runs anyhow or no step gets more. */
HR_API HR_MUST_USE enum hr_status hr_buffer_best_easing(struct hr_easing *out, const struct hr_buffer *buffer,
                                                        const struct hr_hold *holds, size_t hold_count,
                                                        struct hr_fault *fault);

#ifdef __cplusplus
}
#endif
#endif
