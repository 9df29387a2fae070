/* SPDX-License-Identifier: ISC */
#include "sequence/time_line.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/units.h"

static const double hour_s = 3600;
/* A clock that is read twice within a step may seem to run back by so much. */
static const double least_jump_s = 0.5;

/* The coarsest power of ten, up to a second, of which all stamps are multiples. */
static int64_t resolution_ns_of(const uint32_t *order, size_t count, const struct hr_frame *frames)
{
    int64_t resolution_ns = HR_NS_PER_S;
    for (size_t i = 0; i < count; i++)
        while (resolution_ns > 1 && frames[order[i]].local_ns % resolution_ns != 0)
            resolution_ns /= 10;
    return resolution_ns;
}

static bool all_have_offsets(const uint32_t *order, size_t count, const struct hr_frame *frames)
{
    for (size_t i = 0; i < count; i++)
        if (!frames[order[i]].has_offset)
            return false;
    return true;
}

static enum hr_status note_change(struct hr_time_line *line, size_t *capacity, const struct hr_clock_change *change,
                                  struct hr_fault *fault)
{
    if (!hr__array_reserve(&line->changes, capacity, line->change_count + 1, sizeof *line->changes, line->count))
        return hr__fault_nomem(fault, "a clock's changes");
    line->changes[line->change_count++] = *change;
    return HR_OK;
}

/* How far the clock was set before a frame that comes `step_s` after the one before it by its stamp; 0: it was not. */
static double jump_of(double step_s, double resolution_s, double gap_s, bool is_utc)
{
    if (!is_utc && fabs(fabs(step_s) - hour_s) <= gap_s && (step_s > 0 ? step_s >= hour_s : step_s >= -hour_s))
        return step_s > 0 ? hour_s : -hour_s;
    return step_s < -fmax(least_jump_s, 2 * resolution_s) ? step_s : 0;
}

static enum hr_status draw(struct hr_time_line *line, const uint32_t *order, const struct hr_frame *frames,
                           double gap_s, struct hr_fault *fault)
{
    bool is_utc = all_have_offsets(order, line->count, frames);
    size_t capacity = 0;
    double put_right_s = 0, before_s = 0;
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < line->count && !status; i++) {
        const struct hr_frame *frame = &frames[order[i]];
        /* from the first stamp on: seconds since 1970 leave a double too few digits */
        double stamp_s = (double)(frame->local_ns - frames[order[0]].local_ns) / HR_NS_PER_S;
        if (is_utc)
            stamp_s -= 60.0 * (frame->offset_minutes - frames[order[0]].offset_minutes);
        bool is_other_job = i > 0 && strcmp(frame->job, frames[order[i - 1]].job) != 0;
        double jump_s = i > 0 && !is_other_job ? jump_of(stamp_s - before_s, line->resolution_s, gap_s, is_utc) : 0;
        bool is_hour = fabs(jump_s) == hour_s;
        if (jump_s != 0)
            status = note_change(line, &capacity,
                                 &(struct hr_clock_change){.frame = order[i],
                                                           .jump_ns = (int64_t)llround(jump_s * HR_NS_PER_S),
                                                           .is_summer_time = is_hour},
                                 fault);
        if (is_hour)
            put_right_s -= jump_s;
        line->is_cut[i] = i == 0 || (jump_s != 0 && !is_hour) || is_other_job;
        line->at_s[i] = stamp_s + put_right_s;
        before_s = stamp_s;
    }
    return status;
}

enum hr_status hr__time_line_create(struct hr_time_line *out, const uint32_t *order, size_t count,
                                    const struct hr_frame *frames, double gap_s, struct hr_fault *fault)
{
    *out = (struct hr_time_line){.at_s = calloc(count + 1, sizeof *out->at_s),
                                 .is_cut = calloc(count + 1, sizeof *out->is_cut),
                                 .count = count,
                                 .resolution_s = (double)resolution_ns_of(order, count, frames) / HR_NS_PER_S};
    enum hr_status status = out->at_s && out->is_cut ? draw(out, order, frames, gap_s, fault)
                                                     : hr__fault_nomem(fault, "the times of frames");
    if (status)
        hr__time_line_finish(out);
    return status;
}

void hr__time_line_finish(struct hr_time_line *line)
{
    free(line->at_s);
    free(line->is_cut);
    free(line->changes);
    *line = (struct hr_time_line){0};
}
