/* SPDX-License-Identifier: ISC */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/sequence.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/units.h"
#include "sequence/bursts.h"
#include "sequence/frame_order.h"
#include "sequence/stall.h"
#include "sequence/streams.h"
#include "sequence/time_line.h"

static const double default_gap_s = 4;

/* A grouping in the making. */
struct draft {
    struct hr_grouping *grouping;
    const struct hr_frame *frames;
    double gap_s;
    bool is_utc;            /* every picture says how far from UTC it was taken */
    int16_t offset_minutes; /* then, of clips, which never say it: that of the first picture */
    size_t sequence_capacity, single_capacity, change_capacity;
    double *scratch; /* 2 numbers for each frame of the body at hand */
};

/* The frames of one body. */
struct lane {
    uint32_t body;
    const uint32_t *order;
    struct hr_time_line line;
};

static const char what[] = "bursts and sequences";

/* ---- One sequence ---- */

static double bytes_per_frame(const struct lane *lane, const struct hr_frame *frames, size_t from, size_t to)
{
    double sum = 0;
    for (size_t i = from; i < to; i++)
        sum += (double)frames[lane->order[i]].size_bytes;
    return sum / (double)(to - from);
}

/* `from`: number of the sequence's first frame in the lane. */
static void measure_burst(struct hr_burst *burst, const struct draft *draft, const struct lane *lane, size_t from)
{
    const double *at_s = lane->line.at_s + from + burst->first;
    size_t count = burst->last - burst->first + 1, held = count;
    double resolution_s = lane->line.resolution_s;
    struct hr_stall_fit fit;
    if (hr__stall_find(&fit, at_s, count, resolution_s, draft->scratch)) {
        double full_s = at_s[count - 1] - at_s[fit.full_at - 1];
        held = fit.full_at;
        burst->has_stall = true;
        burst->stall = (struct hr_stall){
            .frame = burst->first + (uint32_t)fit.full_at,
            .drain_cadence_per_s = fit.drain_per_s,
            .drain_bytes_per_s =
                fit.drain_per_s * bytes_per_frame(lane, draft->frames, from + burst->first, from + burst->last + 1),
            .seconds_full = full_s,
            .frames_lost = fmax(0, full_s * fit.held_per_s - (double)(count - fit.full_at)),
            .confidence = fit.confidence};
    }
    burst->cadence_per_s = hr__cadence(at_s, held, resolution_s, draft->scratch);
    if (burst->has_stall && burst->cadence_per_s <= 0)
        burst->cadence_per_s = fit.held_per_s;
}

static enum hr_status fill_sequence(struct hr_sequence *sequence, const struct draft *draft, const struct lane *lane,
                                    size_t from, size_t to, struct hr_fault *fault)
{
    size_t capacity = 0;
    sequence->frame_count = to - from;
    sequence->frames = malloc((to - from) * sizeof *sequence->frames);
    if (!sequence->frames)
        return hr__fault_nomem(fault, what);
    memcpy(sequence->frames, lane->order + from, (to - from) * sizeof *sequence->frames);
    for (size_t first = from, i = from + 1; i <= to; i++) {
        if (i < to && !hr__burst_ends(&lane->line, first, i))
            continue;
        if (!hr__array_reserve(&sequence->bursts, &capacity, sequence->burst_count + 1, sizeof *sequence->bursts,
                               to - from))
            return hr__fault_nomem(fault, what);
        struct hr_burst *burst = &sequence->bursts[sequence->burst_count++];
        *burst = (struct hr_burst){.first = (uint32_t)(first - from), .last = (uint32_t)(i - 1 - from)};
        measure_burst(burst, draft, lane, from);
        first = i;
    }
    return HR_OK;
}

static enum hr_status add_sequence(struct draft *draft, const struct lane *lane, size_t from, size_t to,
                                   struct hr_fault *fault)
{
    struct hr_grouping *grouping = draft->grouping;
    if (!hr__array_reserve(&grouping->sequences, &draft->sequence_capacity, grouping->sequence_count + 1,
                           sizeof *grouping->sequences, UINT32_MAX))
        return hr__fault_nomem(fault, what);
    struct hr_sequence *sequence = &grouping->sequences[grouping->sequence_count++];
    *sequence = (struct hr_sequence){
        .body = lane->body,
        .start_local_ns = draft->frames[lane->order[from]].local_ns,
        .length_ns = (int64_t)llround((lane->line.at_s[to - 1] - lane->line.at_s[from]) * HR_NS_PER_S)};
    return fill_sequence(sequence, draft, lane, from, to, fault);
}

static enum hr_status add_single(struct draft *draft, uint32_t frame, struct hr_fault *fault)
{
    struct hr_grouping *grouping = draft->grouping;
    if (!hr__array_reserve(&grouping->singles, &draft->single_capacity, grouping->single_count + 1,
                           sizeof *grouping->singles, UINT32_MAX))
        return hr__fault_nomem(fault, what);
    grouping->singles[grouping->single_count++] = frame;
    return HR_OK;
}

/* ---- One body ---- */

static bool is_new_play(const struct draft *draft, const struct hr_time_line *line, size_t i)
{
    double hair_s = line->resolution_s / 1000;
    return line->is_cut[i] || line->at_s[i] - line->at_s[i - 1] > draft->gap_s + hair_s;
}

/* A burst of slow frames may hold gaps longer than those between plays: it is not cut. */
static enum hr_status cut_plays(struct draft *draft, const struct lane *lane, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    size_t from = 0;
    for (size_t i = 1; i <= lane->line.count && !status; i++) {
        if (i < lane->line.count && !is_new_play(draft, &lane->line, i))
            continue;
        status = i - from > 1 ? add_sequence(draft, lane, from, i, fault) : add_single(draft, lane->order[from], fault);
        from = i;
    }
    return status;
}

static enum hr_status note_changes(struct draft *draft, const struct lane *lane, struct hr_fault *fault)
{
    struct hr_grouping *grouping = draft->grouping;
    size_t count = lane->line.change_count;
    if (!hr__array_reserve(&grouping->clock_changes, &draft->change_capacity, grouping->clock_change_count + count,
                           sizeof *grouping->clock_changes, UINT32_MAX))
        return hr__fault_nomem(fault, what);
    for (size_t i = 0; i < count; i++) {
        struct hr_clock_change *change = &grouping->clock_changes[grouping->clock_change_count++];
        *change = lane->line.changes[i];
        change->body = lane->body;
    }
    return HR_OK;
}

static enum hr_status group_body(struct draft *draft, struct hr_stream *stream, uint32_t body, struct hr_fault *fault)
{
    struct lane lane = {.body = body, .order = stream->frames};
    enum hr_status status =
        hr__time_line_create(&lane.line, stream->frames, stream->count, draft->frames, draft->gap_s, fault);
    if (status)
        return status;
    draft->grouping->bodies[body].resolution_ns = (int64_t)llround(lane.line.resolution_s * HR_NS_PER_S);
    draft->scratch = calloc(2 * stream->count + 1, sizeof *draft->scratch);
    status = draft->scratch ? cut_plays(draft, &lane, fault) : hr__fault_nomem(fault, what);
    if (!status)
        status = note_changes(draft, &lane, fault);
    free(draft->scratch);
    hr__time_line_finish(&lane.line);
    return status;
}

/* ---- All ---- */

/* Bodies are set side by side by UTC where all pictures say it, else all by their clocks: never one by this, one by
 * that. */
static void choose_clock(struct draft *draft, size_t count)
{
    const struct hr_frame *first = NULL;
    draft->is_utc = true;
    for (size_t i = 0; i < count; i++) {
        const struct hr_frame *frame = &draft->frames[i];
        if (frame->is_clip || !frame->has_time)
            continue;
        first = first ? first : frame;
        draft->is_utc &= frame->has_offset;
    }
    draft->is_utc &= first != NULL;
    draft->offset_minutes = first ? first->offset_minutes : 0;
}

static int64_t moment_of(const struct draft *draft, const struct hr_frame *frame)
{
    int64_t minutes = frame->has_offset ? frame->offset_minutes : draft->offset_minutes;
    return frame->local_ns - (draft->is_utc ? minutes * 60 * HR_NS_PER_S : 0);
}

struct moment {
    int64_t at_ns;
    uint32_t index;
};

static int compare_moments(const void *left, const void *right)
{
    const struct moment *a = left, *b = right;
    if (a->at_ns != b->at_ns)
        return a->at_ns < b->at_ns ? -1 : 1;
    return (a->index > b->index) - (a->index < b->index);
}

/* `items` anew, in the order of `moments`, whose indices say where each stood. NULL: no memory. */
static void *sorted_by_moment(const void *items, size_t item_size, struct moment *moments, size_t count)
{
    unsigned char *sorted = calloc(count + 1, item_size);
    if (!sorted)
        return NULL;
    qsort(moments, count, sizeof *moments, compare_moments);
    for (size_t i = 0; i < count; i++)
        memcpy(sorted + i * item_size, (const unsigned char *)items + moments[i].index * item_size, item_size);
    return sorted;
}

/* By the frame each begins with. `address` is that of the array's pointer, which is replaced. */
static enum hr_status sort_by_moment(void *address, size_t item_size, size_t count, const struct draft *draft,
                                     uint32_t (*first_frame)(const void *items, size_t i), struct hr_fault *fault)
{
    struct moment *moments = calloc(count + 1, sizeof *moments);
    void *items, *sorted = NULL;
    memcpy(&items, address, sizeof items);
    for (size_t i = 0; i < count && moments; i++)
        moments[i] = (struct moment){moment_of(draft, &draft->frames[first_frame(items, i)]), (uint32_t)i};
    if (moments)
        sorted = sorted_by_moment(items, item_size, moments, count);
    free(moments);
    if (!sorted)
        return hr__fault_nomem(fault, what);
    free(items);
    memcpy(address, &sorted, sizeof sorted);
    return HR_OK;
}

static uint32_t first_of_stream(const void *streams, size_t i)
{
    return ((const struct hr_stream *)streams)[i].frames[0];
}

static uint32_t first_of_sequence(const void *sequences, size_t i)
{
    return ((const struct hr_sequence *)sequences)[i].frames[0];
}

static uint32_t first_of_single(const void *singles, size_t i)
{
    return ((const uint32_t *)singles)[i];
}

static enum hr_status group_streams(struct draft *draft, struct hr_streams *streams, struct hr_fault *fault)
{
    struct hr_grouping *grouping = draft->grouping;
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < streams->count && !status; i++)
        status = hr__frames_order(streams->streams[i].frames, streams->streams[i].count, draft->frames, fault);
    if (!status)
        status =
            sort_by_moment(&streams->streams, sizeof *streams->streams, streams->count, draft, first_of_stream, fault);
    grouping->bodies = calloc(streams->count + 1, sizeof *grouping->bodies);
    if (!status && !grouping->bodies)
        status = hr__fault_nomem(fault, what);
    for (size_t i = 0; i < streams->count && !status; i++) {
        struct hr_stream *stream = &streams->streams[i];
        grouping->bodies[grouping->body_count++] =
            (struct hr_body){.serial = stream->serial, .model = stream->model, .frame_count = stream->count};
        status = group_body(draft, stream, (uint32_t)i, fault);
    }
    return status;
}

/* Clips stand by themselves, and what has no time cannot be grouped; *chosen gets all others. */
static enum hr_status choose(uint32_t **chosen, size_t *chosen_count, struct draft *draft, size_t frame_count,
                             struct hr_fault *fault)
{
    struct hr_grouping *grouping = draft->grouping;
    enum hr_status status = HR_OK;
    *chosen_count = 0;
    *chosen = calloc(frame_count + 1, sizeof **chosen);
    grouping->unknown = calloc(frame_count + 1, sizeof *grouping->unknown);
    if (!*chosen || !grouping->unknown)
        return hr__fault_nomem(fault, what);
    for (uint32_t i = 0; i < frame_count && !status; i++) {
        if (!draft->frames[i].has_time)
            grouping->unknown[grouping->unknown_count++] = i;
        else if (draft->frames[i].is_clip)
            status = add_single(draft, i, fault);
        else
            (*chosen)[(*chosen_count)++] = i;
    }
    return status;
}

enum hr_status hr_grouping_create(struct hr_grouping **out, const struct hr_frame *frames, size_t frame_count,
                                  const struct hr_grouping_options *options, struct hr_fault *fault)
{
    if (frame_count >= UINT32_MAX)
        return hr__fault_set(fault, HR_TOO_LARGE, 0, "more frames than can be grouped");
    struct hr_grouping *grouping = calloc(1, sizeof *grouping);
    if (!grouping)
        return hr__fault_nomem(fault, what);
    struct draft draft = {.grouping = grouping,
                          .frames = frames,
                          .gap_s = options && options->gap_s > 0 ? options->gap_s : default_gap_s};
    struct hr_streams streams = {0};
    uint32_t *chosen = NULL;
    size_t chosen_count;
    choose_clock(&draft, frame_count);
    enum hr_status status = choose(&chosen, &chosen_count, &draft, frame_count, fault);
    if (!status)
        status = hr__streams_split(&streams, frames, chosen, chosen_count, fault);
    if (!status)
        status = group_streams(&draft, &streams, fault);
    if (!status)
        status = sort_by_moment(&grouping->sequences, sizeof *grouping->sequences, grouping->sequence_count, &draft,
                                first_of_sequence, fault);
    if (!status)
        status = sort_by_moment(&grouping->singles, sizeof *grouping->singles, grouping->single_count, &draft,
                                first_of_single, fault);
    free(chosen);
    hr__streams_finish(&streams);
    if (status)
        hr_grouping_destroy(grouping);
    else
        *out = grouping;
    return status;
}

void hr_grouping_destroy(struct hr_grouping *grouping)
{
    if (!grouping)
        return;
    for (size_t i = 0; i < grouping->sequence_count; i++) {
        free(grouping->sequences[i].frames);
        free(grouping->sequences[i].bursts);
    }
    free(grouping->sequences);
    free(grouping->bodies);
    free(grouping->singles);
    free(grouping->unknown);
    free(grouping->clock_changes);
    free(grouping);
}
