/* SPDX-License-Identifier: ISC */
#include "transfer/pace.h"

#include <stdio.h>

#include "base/units.h"

/* A judgement needs this much of either kind: enough to ride over a throttle's or a drive's own bursts. */
static const double judge_seconds = 0.25, judge_bytes = 16e6;
/* Reading that leaves writing this share of its speed is called free. One shared budget leaves about half. */
static const double free_ratio = 0.75;
/* A place that yields is probed anew after this long, for drives change their mind when a cache fills. */
static const int64_t probe_again_ns = 15 * HR_NS_PER_S;

void hr__pace_init(struct hr_pace *pace, bool is_in_memory, bool is_rotational)
{
    *pace = (struct hr_pace){.mode = is_rotational && !is_in_memory ? HR_PACE_YIELD : HR_PACE_EAGER};
    if (is_in_memory)
        pace->fixed_because = "memory";
    else if (is_rotational)
        pace->fixed_because = "a disk with heads";
}

static bool has_enough(const struct hr_pace_rate *rate)
{
    return rate->seconds >= judge_seconds && rate->bytes >= judge_bytes;
}

/* Old measurements fade, so that the drive of a minute ago does not outvote the one of now. */
static void fade(struct hr_pace_rate *rate)
{
    rate->bytes /= 2;
    rate->seconds /= 2;
}

void hr__pace_saw_write(struct hr_pace *pace, size_t bytes, int64_t took_ns, bool while_reading_back, int64_t now_ns)
{
    struct hr_pace_rate *rate = while_reading_back ? &pace->shared : &pace->alone;
    if (pace->fixed_because)
        return;
    rate->bytes += (double)bytes;
    rate->seconds += (double)took_ns / 1e9;
    if (rate->seconds > 4 * judge_seconds && rate->bytes > 4 * judge_bytes)
        fade(rate);
    if (!has_enough(&pace->alone) || !has_enough(&pace->shared))
        return;
    pace->last_ratio = (pace->shared.bytes / pace->shared.seconds) / (pace->alone.bytes / pace->alone.seconds);
    pace->mode = pace->last_ratio >= free_ratio ? HR_PACE_EAGER : HR_PACE_YIELD;
    pace->is_judged = true;
    pace->judged_at_ns = now_ns;
    pace->shared = (struct hr_pace_rate){0};
}

bool hr__pace_may_read_back(const struct hr_pace *pace, bool writer_is_busy, int64_t now_ns)
{
    if (pace->mode == HR_PACE_EAGER || !writer_is_busy)
        return true;
    return !pace->fixed_because && now_ns - pace->judged_at_ns > probe_again_ns;
}

void hr__pace_describe(char *out, size_t out_size, const struct hr_pace *pace)
{
    const char *what = pace->mode == HR_PACE_EAGER ? "read back while writing" : "read back when not writing";
    if (pace->fixed_because)
        snprintf(out, out_size, "%s: %s", what, pace->fixed_because);
    else if (pace->is_judged)
        snprintf(out, out_size, "%s: reading leaves writing %.0f %% of its speed", what, pace->last_ratio * 100);
    else
        snprintf(out, out_size, "%s: too little was written to judge", what);
}
