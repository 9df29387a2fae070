/* SPDX-License-Identifier: ISC */
#include "cli/buffer_play.h"

#include <stdio.h>

#include "base/fault.h"

enum hr_status buffer_play_add(struct buffer_way **out, struct buffer_play *play, struct hr_fault *fault)
{
    if (play->way_count == BUFFER_WAYS_MAX - 1) /* one is kept for the best step */
        return hr__fault_set(fault, HR_INVALID, 0, "%d ways to compare at most", BUFFER_WAYS_MAX - 2);
    *out = &play->ways[play->way_count++];
    (*out)->buffer = play->buffer;
    return HR_OK;
}

static enum hr_status run_way(struct buffer_way *way, const struct buffer_play *play, struct hr_fault *fault)
{
    return hr_buffer_plan(&way->plan, &way->buffer, play->holds, play->hold_count, way->easings, way->easing_count,
                          fault);
}

static enum hr_status add_best(struct buffer_play *play, struct hr_fault *fault)
{
    struct hr_easing best;
    enum hr_status status = hr_buffer_best_easing(&best, &play->buffer, play->holds, play->hold_count, fault);
    if (status != HR_OK)
        return status == HR_NOT_FOUND ? HR_OK : status;
    struct buffer_way *way = &play->ways[play->way_count++];
    *way = (struct buffer_way){.buffer = play->buffer, .easings = {best}, .easing_count = 1};
    snprintf(way->name, sizeof way->name, "best step: %.0f%% to %g/s", 100 * best.at_fill, best.per_s);
    play->has_best = true;
    return run_way(way, play, fault);
}

enum hr_status buffer_play_run(struct buffer_play *play, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < play->way_count && status == HR_OK; i++)
        status = run_way(&play->ways[i], play, fault);
    if (status == HR_OK)
        status = add_best(play, fault);
    if (status == HR_OK)
        status = hr_buffer_hold_back(&play->hold_back_s, &play->buffer, play->holds, play->hold_count, fault);
    play->is_too_long = status == HR_NOT_FOUND;
    return play->is_too_long ? HR_OK : status;
}

void buffer_play_finish(struct buffer_play *play)
{
    for (size_t i = 0; i < play->way_count; i++)
        hr_buffer_plan_finish(&play->ways[i].plan);
}

double buffer_play_seconds(const struct buffer_play *play)
{
    double seconds = 0;
    for (size_t i = 0; i < play->hold_count; i++)
        seconds += play->holds[i].hold_s + play->holds[i].rest_s;
    return seconds;
}

struct hr_buffer_moment buffer_moment_at(const struct hr_buffer_plan *plan, double at_s)
{
    size_t i = 0;
    while (i + 1 < plan->moment_count && plan->timeline[i + 1].at_s <= at_s)
        i++;
    struct hr_buffer_moment moment = plan->timeline[i];
    if (i + 1 < plan->moment_count) {
        const struct hr_buffer_moment *next = &plan->timeline[i + 1];
        moment.fill += (next->fill - moment.fill) * (at_s - moment.at_s) / (next->at_s - moment.at_s);
    }
    moment.at_s = at_s;
    return moment;
}
