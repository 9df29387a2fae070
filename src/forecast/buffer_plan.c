/* SPDX-License-Identifier: ISC */
#include <math.h>
#include <stdlib.h>

#include <headrace/buffer.h>

#include "base/array.h"
#include "base/fault.h"

static const double hair_s = 1e-9, hair_frames = 1e-9;
enum { MOMENTS_MAX = 8 * HR_HOLDS_MAX * HR_EASINGS_MAX };

/* A play under way. */
struct play {
    const struct hr_buffer *buffer;
    const struct hr_hold *holds;
    size_t hold_count;
    const struct hr_easing *easings;
    size_t easing_count;
    double at_s, fill;  /* frames */
    double last_frames; /* of the last hold */
    struct hr_buffer_plan *plan;
    bool is_drawn; /* the timeline is wanted */
    size_t capacity;
    bool is_broken; /* no memory */
};

static void draw(struct play *play, double per_s)
{
    struct hr_buffer_plan *plan = play->plan;
    if (!play->is_drawn || play->is_broken)
        return;
    if (plan->moment_count > 0 && plan->timeline[plan->moment_count - 1].at_s >= play->at_s)
        plan->moment_count--; /* no time has passed since */
    if (!hr__array_reserve(&plan->timeline, &play->capacity, plan->moment_count + 1, sizeof *plan->timeline,
                           MOMENTS_MAX)) {
        play->is_broken = true;
        return;
    }
    plan->timeline[plan->moment_count++] =
        (struct hr_buffer_moment){play->at_s, play->fill / play->buffer->depth_frames, per_s};
}

/* The rate that a hold has come to: once it was eased it stays so until the finger is lifted. */
static double eased_rate(const struct play *play, double per_s, double *next_fill)
{
    *next_fill = play->buffer->depth_frames;
    for (size_t i = 0; i < play->easing_count; i++) {
        double fill = play->easings[i].at_fill * play->buffer->depth_frames;
        if (play->easings[i].per_s >= per_s)
            continue;
        if (play->fill >= fill - hair_frames) {
            per_s = play->easings[i].per_s;
        } else {
            *next_fill = fill;
            break;
        }
    }
    return per_s;
}

/* The camera waits for the card until the finger is lifted. */
static double wait_full(struct play *play, double left_s)
{
    if (play->plan->full_at_s < 0)
        play->plan->full_at_s = play->at_s;
    play->plan->last_runs = false;
    draw(play, play->buffer->drain_per_s);
    play->at_s += left_s;
    return left_s * play->buffer->drain_per_s;
}

/* Frames got. */
static double hold(struct play *play, const struct hr_hold *hold)
{
    double left_s = hold->hold_s, per_s = hold->per_s, frames = 0, next_fill;
    play->plan->last_fill = play->fill / play->buffer->depth_frames;
    play->plan->last_runs = true;
    while (left_s > hair_s) {
        per_s = eased_rate(play, per_s, &next_fill);
        double rise_per_s = per_s - play->buffer->drain_per_s;
        if (rise_per_s > 0 && play->fill >= play->buffer->depth_frames - hair_frames)
            return frames + wait_full(play, left_s);
        double step_s = rise_per_s > 0 ? (next_fill - play->fill) / rise_per_s : left_s;
        if (rise_per_s < 0 && play->fill > hair_frames)
            step_s = play->fill / -rise_per_s;
        step_s = fmin(step_s, left_s);
        draw(play, per_s);
        play->fill = fmin(fmax(0, play->fill + rise_per_s * step_s), play->buffer->depth_frames);
        play->at_s += step_s;
        left_s -= step_s;
        frames += per_s * step_s;
    }
    return frames;
}

static void rest(struct play *play, double seconds)
{
    double clear_s = play->buffer->drain_per_s > 0 ? play->fill / play->buffer->drain_per_s : INFINITY;
    draw(play, 0);
    if (clear_s < seconds - hair_s && play->fill > 0) {
        play->at_s += clear_s;
        play->fill = 0;
        draw(play, 0);
        play->at_s += seconds - clear_s;
    } else {
        play->at_s += seconds;
        play->fill = fmax(0, play->fill - seconds * play->buffer->drain_per_s);
    }
}

static void run(struct play *play)
{
    play->plan->full_at_s = -1;
    for (size_t i = 0; i < play->hold_count; i++) {
        play->last_frames = hold(play, &play->holds[i]);
        play->plan->frames += play->last_frames;
        rest(play, play->holds[i].rest_s);
    }
    draw(play, 0);
}

static enum hr_status check(const struct hr_buffer *buffer, const struct hr_hold *holds, size_t hold_count,
                            const struct hr_easing *easings, size_t easing_count, struct hr_fault *fault)
{
    if (!(buffer->depth_frames > 0 && buffer->drain_per_s >= 0))
        return hr__fault_set(fault, HR_INVALID, 0, "a buffer is deeper than 0 frames, and its drain is not below 0");
    if (hold_count == 0 || hold_count > HR_HOLDS_MAX)
        return hr__fault_set(fault, HR_INVALID, 0, "a play has 1 to %d holds", HR_HOLDS_MAX);
    for (size_t i = 0; i < hold_count; i++)
        if (!(holds[i].hold_s > 0 && holds[i].per_s > 0 && holds[i].rest_s >= 0 && isfinite(holds[i].hold_s) &&
              isfinite(holds[i].per_s) && isfinite(holds[i].rest_s)))
            return hr__fault_set(fault, HR_INVALID, 0, "holds and rates must be above 0, rests not below");
    for (size_t i = 0; i < hold_count; i++)
        if (holds[i].per_s > HR_HOLD_RATE_MAX)
            return hr__fault_set(fault, HR_INVALID, 0, "no camera makes more than %d frames a second",
                                 HR_HOLD_RATE_MAX);
    for (size_t i = 0; i < easing_count; i++) {
        if (!(easings[i].at_fill > 0 && easings[i].at_fill <= 1 && easings[i].per_s > 0))
            return hr__fault_set(fault, HR_INVALID, 0, "an easing is at a fill up to 100%%, to a rate above 0");
        if (i > 0 && (easings[i].at_fill <= easings[i - 1].at_fill || easings[i].per_s >= easings[i - 1].per_s))
            return hr__fault_set(fault, HR_INVALID, 0, "easings go from low fill to high, from fast to slow");
    }
    return HR_OK;
}

enum hr_status hr_buffer_plan(struct hr_buffer_plan *out, const struct hr_buffer *buffer, const struct hr_hold *holds,
                              size_t hold_count, const struct hr_easing *easings, size_t easing_count,
                              struct hr_fault *fault)
{
    struct hr_buffer_plan plan = {0};
    enum hr_status status = check(buffer, holds, hold_count, easings, easing_count, fault);
    if (status)
        return status;
    struct play play = {.buffer = buffer,
                        .holds = holds,
                        .hold_count = hold_count,
                        .easings = easings,
                        .easing_count = easing_count,
                        .plan = &plan,
                        .is_drawn = true};
    run(&play);
    if (play.is_broken) {
        hr_buffer_plan_finish(&plan);
        return hr__fault_nomem(fault, "the plan of a play");
    }
    *out = plan;
    return HR_OK;
}

void hr_buffer_plan_finish(struct hr_buffer_plan *plan)
{
    free(plan->timeline);
    *plan = (struct hr_buffer_plan){0};
}

/* ---- What to leave out ---- */

/* `shorter`: the holds with `seconds` less before the last one. */
static void shorten(struct hr_hold *shorter, const struct hr_hold *holds, size_t hold_count, double seconds)
{
    for (size_t i = hold_count; i-- > 0;) {
        double less_s = i + 1 < hold_count ? fmin(seconds, holds[i].hold_s) : 0;
        shorter[i] = holds[i];
        shorter[i].hold_s -= less_s;
        shorter[i].rest_s += less_s; /* the play goes its way all the same */
        seconds -= less_s;
    }
}

static bool runs(const struct hr_buffer *buffer, const struct hr_hold *holds, size_t hold_count)
{
    struct hr_buffer_plan plan = {0};
    struct play play = {.buffer = buffer, .holds = holds, .hold_count = hold_count, .plan = &plan};
    run(&play);
    return plan.last_runs;
}

enum hr_status hr_buffer_hold_back(double *out_s, const struct hr_buffer *buffer, const struct hr_hold *holds,
                                   size_t hold_count, struct hr_fault *fault)
{
    struct hr_hold shorter[HR_HOLDS_MAX];
    enum hr_status status = check(buffer, holds, hold_count, NULL, 0, fault);
    if (status)
        return status;
    const struct hr_hold *last = &holds[hold_count - 1];
    double full_s = hr_buffer_seconds_until_full(buffer, last->per_s), low_s = 0, high_s = 0;
    if (last->hold_s > full_s + hair_s) {
        *out_s = last->hold_s - full_s;
        return HR_NOT_FOUND;
    }
    for (size_t i = 0; i + 1 < hold_count; i++)
        high_s += holds[i].hold_s;
    if (runs(buffer, holds, hold_count))
        high_s = 0;
    while (high_s - low_s > 1e-6) {
        double middle_s = (low_s + high_s) / 2;
        shorten(shorter, holds, hold_count, middle_s);
        if (runs(buffer, shorter, hold_count))
            high_s = middle_s;
        else
            low_s = middle_s;
    }
    *out_s = high_s;
    return HR_OK;
}

/* ---- The best step ---- */

struct outcome {
    bool last_runs;
    double frames, last_frames;
};

static struct outcome try_easing(const struct hr_buffer *buffer, const struct hr_hold *holds, size_t hold_count,
                                 const struct hr_easing *easing)
{
    struct hr_buffer_plan plan = {0};
    struct play play = {.buffer = buffer,
                        .holds = holds,
                        .hold_count = hold_count,
                        .easings = easing,
                        .easing_count = easing ? 1 : 0,
                        .plan = &plan};
    run(&play);
    return (struct outcome){plan.last_runs, plan.frames, play.last_frames};
}

static bool is_better(const struct outcome *a, const struct outcome *b)
{
    if (a->last_runs != b->last_runs)
        return a->last_runs;
    return a->last_runs ? a->frames > b->frames + hair_frames : a->last_frames > b->last_frames + hair_frames;
}

enum hr_status hr_buffer_best_easing(struct hr_easing *out, const struct hr_buffer *buffer, const struct hr_hold *holds,
                                     size_t hold_count, struct hr_fault *fault)
{
    enum hr_status status = check(buffer, holds, hold_count, NULL, 0, fault);
    if (status)
        return status;
    double fastest = 0;
    for (size_t i = 0; i < hold_count; i++)
        fastest = fmax(fastest, holds[i].per_s);
    struct outcome best = try_easing(buffer, holds, hold_count, NULL);
    if (best.last_runs)
        return HR_NOT_FOUND;
    bool is_found = false;
    for (int percent = 1; percent < 100; percent++)
        for (int per_s = 1; per_s < fastest; per_s++) {
            struct hr_easing easing = {percent / 100.0, per_s};
            struct outcome outcome = try_easing(buffer, holds, hold_count, &easing);
            if (!is_better(&outcome, &best))
                continue;
            best = outcome;
            *out = easing;
            is_found = true;
        }
    return is_found ? HR_OK : HR_NOT_FOUND;
}
