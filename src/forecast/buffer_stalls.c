/* SPDX-License-Identifier: ISC */
#include <math.h>
#include <stdlib.h>

#include <headrace/buffer.h>

#include "base/fault.h"
#include "base/median.h"

/* A rest so much longer than the buffer takes to clear: cadences are off by a few percent. */
static const double rested_margin = 1.1;
/* A drain so far from the middle one is of something else: a rate that was changed, another thing to do. */
static const double same_drain_share = 0.25;
/* Rates so far apart say more than one rate does. */
static const double rates_apart = 1.1;

static bool is_right(const struct hr_buffer_stall *stall)
{
    return stall->drain_per_s > 0 && stall->per_s > stall->drain_per_s && stall->frames > 0 && stall->rest_s >= 0 &&
           isfinite(stall->per_s) && isfinite(stall->frames);
}

/* As if the buffer had been empty when the burst began. */
static double depth_of(const struct hr_buffer_stall *stall, double drain_per_s)
{
    return stall->frames * (1 - drain_per_s / stall->per_s);
}

/* A burst that tells the depth. A buffer that was not yet empty makes the depth seem less, but never so little that it
 * would have been cleared within the rest: it was full at most when the rest began. So each burst can be judged by what
 * it itself says. */
static bool was_rested(const struct hr_buffer_stall *stall, double drain_per_s)
{
    double depth = depth_of(stall, drain_per_s);
    return depth > 0 && fabs(stall->drain_per_s / drain_per_s - 1) <= same_drain_share &&
           stall->rest_s >= rested_margin * depth / drain_per_s;
}

/* Sorts `values`. */
static double median_within(struct hr_buffer_range *range, double *values, size_t count)
{
    double median = hr__median(values, count);
    if (count > 0)
        *range = (struct hr_buffer_range){values[0], values[count - 1]};
    return median;
}

static void find_drain(struct hr_buffer_stalls *out, const struct hr_buffer_stall *stalls, size_t count, double *values)
{
    size_t known = 0;
    for (size_t i = 0; i < count; i++)
        if (stalls[i].drain_bytes_per_s > 0)
            values[known++] = stalls[i].drain_bytes_per_s;
    out->drain_bytes_per_s = hr__median(values, known);
    for (size_t i = 0; i < count; i++)
        values[i] = stalls[i].drain_per_s;
    out->buffer.drain_per_s = median_within(&out->drain, values, count);
}

static void find_depth(struct hr_buffer_stalls *out, const struct hr_buffer_stall *stalls, size_t count, double *values)
{
    for (size_t i = 0; i < count; i++)
        if (was_rested(&stalls[i], out->buffer.drain_per_s))
            values[out->rested_count++] = depth_of(&stalls[i], out->buffer.drain_per_s);
    out->buffer.depth_frames = median_within(&out->depth, values, out->rested_count);
}

/* Rates by whole frames a second, or cadences that differ by a hair would count as two. */
static void find_fit(struct hr_buffer_stalls *out, const struct hr_buffer_stall *stalls, size_t count,
                     struct hr_buffer_count *counts)
{
    size_t used = 0;
    double slowest = INFINITY, fastest = 0;
    for (size_t i = 0; i < count; i++) {
        if (!was_rested(&stalls[i], out->buffer.drain_per_s))
            continue;
        counts[used] = (struct hr_buffer_count){.per_s = round(stalls[i].per_s), .frames = stalls[i].frames};
        slowest = fmin(slowest, counts[used].per_s);
        fastest = fmax(fastest, counts[used++].per_s);
    }
    out->has_fit =
        used > 2 && fastest >= rates_apart * slowest && hr_buffer_fit_counts(&out->fit, counts, used, 0, NULL) == HR_OK;
}

enum hr_status hr_buffer_from_stalls(struct hr_buffer_stalls *out, const struct hr_buffer_stall *stalls, size_t count,
                                     struct hr_fault *fault)
{
    struct hr_buffer_stalls found = {0};
    if (count == 0)
        return hr__fault_set(fault, HR_INVALID, 0, "no burst in which the buffer ran full");
    for (size_t i = 0; i < count; i++)
        if (!is_right(&stalls[i]))
            return hr__fault_set(fault, HR_INVALID, 0, "a stall has figures above 0, and a drain below its rate");
    double *values = calloc(count, sizeof *values);
    struct hr_buffer_count *counts = calloc(count, sizeof *counts);
    if (values && counts) {
        find_drain(&found, stalls, count, values);
        find_depth(&found, stalls, count, values);
        find_fit(&found, stalls, count, counts);
        *out = found;
    }
    enum hr_status status = values && counts ? HR_OK : hr__fault_nomem(fault, "the stalls of a buffer");
    free(values);
    free(counts);
    return status;
}
