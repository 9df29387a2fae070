/* SPDX-License-Identifier: ISC */
#include "transfer/pace.h"

#include <stdio.h>

#include "base/units.h"

/* A judgement needs this much of either kind: enough to ride over a throttle's or a drive's own bursts. */
static const double judge_seconds = 0.3, judge_bytes = 8e6;
/* Reading that leaves writing this share of its speed is called free. One shared budget leaves about half. */
static const double free_share = 0.75;
/* Reading and writing together that move this share of what writing moves alone are worth doing together: a budget that
 * is only shared gives 1, heads that travel 0.2 to 0.5. */
static const double together_share = 0.7;
/* The first writes meet empty caches and rested throttles, and say nothing about the rest. */
static const int64_t warm_up_ns = HR_NS_PER_S / 5;
/* Each probe that finds nothing new makes the next one wait twice as long. */
static const int64_t first_probe_again_ns = 15 * HR_NS_PER_S, last_probe_again_ns = 240 * HR_NS_PER_S;
/* A writer that keeps up has no more than this waiting. */
static const uint64_t keeps_up_bytes = 8 << 20;
/* Heads may go elsewhere when nothing was written for so long. */
static const int64_t long_idle_ns = HR_NS_PER_S;

void hr__pace_init(struct hr_pace *pace, bool is_in_memory, bool is_rotational)
{
    *pace = (struct hr_pace){.probe_again_ns = first_probe_again_ns};
    if (is_in_memory) {
        pace->fixed_because = "memory";
    } else if (is_rotational) {
        pace->mode = HR_PACE_AFTER;
        pace->fixed_because = "a disk with heads";
    }
}

static double rate_of(const struct hr_pace_rate *rate)
{
    return rate->seconds > 0 ? rate->bytes / rate->seconds : 0;
}

static bool has_enough(const struct hr_pace_rate *rate)
{
    return rate->seconds >= judge_seconds && rate->bytes >= judge_bytes;
}

static bool is_probing(const struct hr_pace *pace, int64_t now_ns)
{
    if (pace->fixed_because || !pace->first_write_ns || now_ns - pace->first_write_ns < warm_up_ns)
        return false;
    return !pace->is_judged || (pace->mode != HR_PACE_EAGER && now_ns - pace->judged_at_ns > pace->probe_again_ns);
}

static void forget_rates(struct hr_pace *pace)
{
    pace->alone = pace->shared = (struct hr_pace_rate){0};
    pace->read_bytes = 0;
}

static void judge(struct hr_pace *pace, int64_t now_ns)
{
    enum hr_pace_mode before = pace->mode;
    pace->alone_rate = rate_of(&pace->alone);
    pace->kept = rate_of(&pace->shared) / pace->alone_rate;
    pace->together = pace->kept + pace->read_bytes / pace->shared.seconds / pace->alone_rate;
    if (pace->kept >= free_share)
        pace->mode = HR_PACE_EAGER;
    else
        pace->mode = pace->together >= together_share ? HR_PACE_YIELD : HR_PACE_AFTER;
    if (pace->is_judged && pace->mode == before && pace->probe_again_ns < last_probe_again_ns)
        pace->probe_again_ns *= 2;
    pace->is_judged = true;
    pace->judged_at_ns = now_ns;
    forget_rates(pace);
}

/* Where reading was found to be free it goes on all the time, so a drive that changes its mind is seen without a probe:
 * writing falls off. */
static void watch(struct hr_pace *pace)
{
    if (!has_enough(&pace->shared))
        return;
    pace->is_judged = rate_of(&pace->shared) >= free_share * pace->alone_rate;
    forget_rates(pace);
}

void hr__pace_saw_write(struct hr_pace *pace, size_t bytes, int64_t took_ns, bool is_shared, bool is_backed_up,
                        int64_t now_ns)
{
    struct hr_pace_rate *rate = is_shared ? &pace->shared : &pace->alone;
    bool probes = is_probing(pace, now_ns), watches = pace->is_judged && pace->mode == HR_PACE_EAGER && is_shared;
    if (!pace->first_write_ns)
        pace->first_write_ns = now_ns;
    pace->last_write_ns = now_ns;
    pace->was_backed_up = is_backed_up;
    if (!is_backed_up || !(probes || watches) || (probes && has_enough(rate)))
        return;
    rate->bytes += (double)bytes;
    rate->seconds += (double)took_ns / 1e9;
    if (watches)
        watch(pace);
    else if (has_enough(&pace->alone) && has_enough(&pace->shared))
        judge(pace, now_ns);
}

void hr__pace_saw_read(struct hr_pace *pace, size_t bytes, int64_t now_ns)
{
    if (is_probing(pace, now_ns) && !has_enough(&pace->shared))
        pace->read_bytes += (double)bytes;
}

bool hr__pace_may_read_back(const struct hr_pace *pace, const struct hr_pace_now *now)
{
    bool keeps_up = now->backlog_bytes <= keeps_up_bytes;
    if (is_probing(pace, now->at_ns) && pace->was_backed_up && now->is_writing)
        return has_enough(&pace->alone);
    switch (pace->mode) {
    case HR_PACE_EAGER:
        return true;
    case HR_PACE_YIELD:
        return keeps_up;
    case HR_PACE_AFTER:
        break;
    }
    return !now->is_writing && now->at_ns - pace->last_write_ns > long_idle_ns;
}

void hr__pace_describe(char *out, size_t out_size, const struct hr_pace *pace)
{
    static const char *const choices[] = {[HR_PACE_EAGER] = "read back while writing",
                                          [HR_PACE_YIELD] = "read back while writing keeps up",
                                          [HR_PACE_AFTER] = "read back after writing"};
    const char *choice = choices[pace->mode];
    if (pace->fixed_because)
        snprintf(out, out_size, "%s: %s", choice, pace->fixed_because);
    else if (pace->is_judged)
        snprintf(out, out_size, "%s: side by side, writing goes at %.2f of its speed, both together at %.2f", choice,
                 pace->kept, pace->together);
    else
        snprintf(out, out_size, "%s: it always kept up", choice);
}
