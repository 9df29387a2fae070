/* SPDX-License-Identifier: ISC */
#include "transfer/pace.h"

#include <stdio.h>

#include "base/units.h"

/* A judgement needs this much of either kind: enough to ride over a throttle's or a drive's own bursts. Alone it costs
 * nothing to wait for more. */
static const double judge_seconds = 0.5, alone_bytes = 32e6, shared_bytes = 16e6;
/* Reading that leaves writing this share of its speed is called free. One shared budget leaves about half. */
static const double free_share = 0.75;
/* Reading and writing together that move this share of what writing moves alone are worth doing together: a budget that
 * is only shared gives 1, heads that travel 0.2 to 0.5. */
static const double together_share = 0.7;
/* Nothing writes faster for being read beside: the writer was not alone while it was thought to be. */
static const double implausible_share = 1.25;
/* Smaller writes say more of their own cost than of the drive's speed. */
static const size_t telling_bytes = 1 << 18;
/* The first writes meet empty caches and rested throttles, and say nothing about the rest. */
static const int64_t warm_up_ns = HR_NS_PER_S;
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

static bool has_enough(const struct hr_pace_rate *rate, double bytes)
{
    return rate->seconds >= judge_seconds && rate->bytes >= bytes;
}

static bool has_enough_alone(const struct hr_pace *pace)
{
    return has_enough(&pace->alone, alone_bytes);
}

static bool has_enough_shared(const struct hr_pace *pace)
{
    return has_enough(&pace->shared, shared_bytes);
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

static enum hr_pace_mode mode_for(double kept, double together)
{
    if (kept >= free_share)
        return HR_PACE_EAGER;
    return together >= together_share ? HR_PACE_YIELD : HR_PACE_AFTER;
}

/* What was found before is given up only when two probes in a row say the same. False: probe once more. */
static bool is_certain(struct hr_pace *pace, enum hr_pace_mode found)
{
    bool was_doubted = pace->is_doubted && pace->instead == found;
    pace->is_doubted = pace->is_judged && found != pace->mode && !was_doubted;
    pace->instead = found;
    return !pace->is_doubted;
}

static void judge(struct hr_pace *pace, int64_t now_ns)
{
    double alone_rate = rate_of(&pace->alone), kept = rate_of(&pace->shared) / alone_rate;
    double together = kept + pace->read_bytes / pace->shared.seconds / alone_rate;
    enum hr_pace_mode found = mode_for(kept, together);
    forget_rates(pace);
    if (kept > implausible_share || !is_certain(pace, found))
        return;
    if (pace->is_judged && found == pace->mode && pace->probe_again_ns < last_probe_again_ns)
        pace->probe_again_ns *= 2;
    pace->mode = found;
    pace->alone_rate = alone_rate;
    pace->kept = kept;
    pace->together = together;
    pace->is_judged = true;
    pace->judged_at_ns = now_ns;
}

/* Where reading was found to be free it goes on all the time, so a drive that changes its mind is seen without a probe:
 * writing falls off. */
static void watch(struct hr_pace *pace)
{
    if (!has_enough_shared(pace))
        return;
    pace->is_judged = rate_of(&pace->shared) >= free_share * pace->alone_rate;
    forget_rates(pace);
}

void hr__pace_saw_write(struct hr_pace *pace, const struct hr_pace_write *write, int64_t now_ns)
{
    struct hr_pace_rate *rate = write->is_shared ? &pace->shared : &pace->alone;
    bool probes = is_probing(pace, now_ns), is_enough = write->is_shared ? has_enough_shared(pace) : has_enough_alone(pace);
    bool watches = pace->is_judged && pace->mode == HR_PACE_EAGER && write->is_shared;
    if (!pace->first_write_ns)
        pace->first_write_ns = now_ns;
    pace->last_write_ns = now_ns;
    pace->was_backed_up = write->is_backed_up;
    if (!write->is_backed_up || write->is_disturbed || write->bytes < telling_bytes)
        return;
    if (!(probes || watches) || (probes && is_enough))
        return;
    rate->bytes += (double)write->bytes;
    rate->seconds += (double)write->took_ns / 1e9;
    if (watches)
        watch(pace);
    else if (has_enough_alone(pace) && has_enough_shared(pace))
        judge(pace, now_ns);
}

void hr__pace_saw_read(struct hr_pace *pace, size_t bytes, int64_t now_ns)
{
    if (is_probing(pace, now_ns) && !has_enough_shared(pace))
        pace->read_bytes += (double)bytes;
}

bool hr__pace_may_read_back(const struct hr_pace *pace, const struct hr_pace_now *now)
{
    bool keeps_up = now->backlog_bytes <= keeps_up_bytes;
    if (is_probing(pace, now->at_ns) && pace->was_backed_up && now->is_writing)
        return has_enough_alone(pace);
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
