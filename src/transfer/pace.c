/* SPDX-License-Identifier: ISC */
#include "transfer/pace.h"

#include <stdio.h>

#include "base/units.h"

/* A judgement needs this much of either kind: enough to ride over a throttle's or a drive's own bursts. */
static const double judge_seconds = 0.5, judge_bytes = 32e6;
/* Reading that leaves writing this share of its speed is called free. One shared budget leaves about half. */
static const double free_ratio = 0.75;
/* The first writes meet empty caches and rested throttles, and say nothing about the rest. */
static const int64_t warm_up_ns = 1 * HR_NS_PER_S;
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

static bool is_probing(const struct hr_pace *pace, int64_t now_ns)
{
    if (pace->fixed_because || !pace->first_write_ns || now_ns - pace->first_write_ns < warm_up_ns)
        return false;
    return !pace->is_judged || now_ns - pace->judged_at_ns > probe_again_ns;
}

static void judge(struct hr_pace *pace, int64_t now_ns)
{
    pace->last_ratio = (pace->shared.bytes / pace->shared.seconds) / (pace->alone.bytes / pace->alone.seconds);
    pace->mode = pace->last_ratio >= free_ratio ? HR_PACE_EAGER : HR_PACE_YIELD;
    pace->is_judged = true;
    pace->judged_at_ns = now_ns;
    pace->alone = pace->shared = (struct hr_pace_rate){0};
}

void hr__pace_saw_write(struct hr_pace *pace, size_t bytes, int64_t took_ns, bool is_shared, bool is_backed_up,
                        int64_t now_ns)
{
    struct hr_pace_rate *rate = is_shared ? &pace->shared : &pace->alone;
    if (!pace->first_write_ns)
        pace->first_write_ns = now_ns;
    pace->was_backed_up = is_backed_up;
    if (!is_backed_up || has_enough(rate) || !is_probing(pace, now_ns))
        return;
    rate->bytes += (double)bytes;
    rate->seconds += (double)took_ns / 1e9;
    if (has_enough(&pace->alone) && has_enough(&pace->shared))
        judge(pace, now_ns);
}

bool hr__pace_may_read_back(const struct hr_pace *pace, bool writer_is_busy, int64_t now_ns)
{
    if (!writer_is_busy)
        return true;
    if (is_probing(pace, now_ns) && pace->was_backed_up)
        return has_enough(&pace->alone);
    return pace->mode == HR_PACE_EAGER;
}

void hr__pace_describe(char *out, size_t out_size, const struct hr_pace *pace)
{
    const char *what = pace->mode == HR_PACE_EAGER ? "read back while writing" : "read back when not writing";
    if (pace->fixed_because)
        snprintf(out, out_size, "%s: %s", what, pace->fixed_because);
    else if (pace->is_judged)
        snprintf(out, out_size, "%s: beside reading, writing goes at %.2f of its speed", what, pace->last_ratio);
    else
        snprintf(out, out_size, "%s: too little was written to judge", what);
}
