/* SPDX-License-Identifier: ISC */
#include "transfer/pace.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/units.h"

/* A probe moves this much, and takes this long, either way: a throttle's or a drive's own bursts are a third of it at
 * most. One way or the other it costs each kind of drive something, so it is no more. */
static const double probe_bytes = 32e6, probe_seconds = 0.2;
/* So much waits for the sync that ends a spell of a probe; some of it may have been written before the spell began. */
static const uint64_t spell_bytes[] = {[HR_PROBE_ALONE] = 40000000, [HR_PROBE_SHARED] = 20000000};
/* A sync sends heads to the journal and back, and where reading waits for the end of writing anyway nothing waits for
 * the sync but the card. */
static const struct hr_pace_batch batches[] = {
    [HR_PACE_EAGER] = {.least_bytes = 8 << 20, .most_bytes = 64 << 20, .files = 1024, .age_ns = 2 * HR_NS_PER_S},
    [HR_PACE_YIELD] = {.least_bytes = 8 << 20, .most_bytes = 64 << 20, .files = 1024, .age_ns = 2 * HR_NS_PER_S},
    [HR_PACE_AFTER] = {.least_bytes = 64 << 20, .most_bytes = 512 << 20, .files = 4096, .age_ns = 6 * HR_NS_PER_S},
};
/* A writer that had nothing to do for more than this share of a spell shows what the card gives, not the drive. */
static const double idle_share = 0.15;
/* Reading that leaves writing this share of its speed is called free. One shared budget leaves about half. */
static const double free_share = 0.85;
/* Or both together move so much more than writing moves alone. A budget that is only shared gives 1, two give 2, heads
 * that travel 0.4 to 0.85. To wait with reading costs a shared budget nothing while writing takes all of it, and to
 * read beside costs heads a third of the time: in doubt they are heads. */
static const double gain_share = 1.4, loss_share = 0.9;
/* Nothing writes so much faster for being read beside: the writer was not alone while it was thought to be. */
static const double implausible_share = 1.5;
/* The first writes meet empty caches and rested throttles, and say nothing about the rest. */
static const int64_t warm_up_ns = HR_NS_PER_S / 5;
/* Each probe that finds nothing new makes the next one wait twice as long; where heads travel it costs most, and waits
 * four times as long. */
static const int64_t first_probe_after_ns = 15 * HR_NS_PER_S, last_probe_after_ns = 240 * HR_NS_PER_S;
enum { AFTER_WAITS = 4 };
/* A writer that keeps up has no more than this waiting. */
static const uint64_t keeps_up_bytes = 8 << 20;
/* Heads may go elsewhere when nothing was written for so long. */
static const int64_t long_idle_ns = HR_NS_PER_S;

void hr__pace_init(struct hr_pace *pace, bool is_in_memory, bool has_heads)
{
    *pace = (struct hr_pace){.mode = HR_PACE_YIELD, .probe_after_ns = first_probe_after_ns};
    if (is_in_memory) {
        pace->mode = HR_PACE_EAGER;
        pace->fixed_because = "memory";
    } else if (has_heads) {
        pace->mode = HR_PACE_AFTER;
        pace->fixed_because = "a disk with heads";
    }
}

void hr__pace_saw_write(struct hr_pace *pace, int64_t now_ns)
{
    pace->last_write_ns = now_ns;
}

static bool is_probe_due(const struct hr_pace *pace, int64_t now_ns)
{
    if (pace->fixed_because || now_ns - pace->first_spell_ns < warm_up_ns)
        return false;
    return !pace->is_judged || (pace->mode != HR_PACE_EAGER && now_ns > pace->probe_again_ns);
}

static void begin(struct hr_pace *pace, enum hr_pace_probe probe)
{
    pace->probe = probe;
    pace->spell = (struct hr_pace_spell){0};
}

static bool is_backed_up(const struct hr_pace_spell *spell)
{
    return spell->idle_seconds <= idle_share * spell->seconds;
}

static bool is_enough(const struct hr_pace_spell *spell)
{
    return spell->written_bytes + spell->read_bytes >= probe_bytes && spell->seconds >= probe_seconds;
}

/* Little read beside much writing tells nothing of what reading costs. */
static bool is_shared(const struct hr_pace_spell *spell)
{
    return spell->read_bytes >= spell->written_bytes / 8;
}

static enum hr_pace_mode mode_for(const struct hr_pace_shares *shares)
{
    if (shares->kept >= free_share || shares->together >= gain_share)
        return HR_PACE_EAGER;
    return shares->together >= loss_share ? HR_PACE_YIELD : HR_PACE_AFTER;
}

/* What lies beside what is done now is believed when two probes in a row say it: they may be off by so much, and to
 * wait with reading where it is free takes twice the time. What is the very opposite is believed at once. Before the
 * first judgement what is done is only a guess: the middle is believed when found twice, either end at once. */
static bool is_certain(struct hr_pace *pace, enum hr_pace_mode found)
{
    bool was_doubted = pace->is_doubted && pace->instead == found;
    bool needs_two = pace->is_judged ? abs((int)found - (int)pace->mode) == 1 : found == HR_PACE_YIELD;
    pace->is_doubted = needs_two && !was_doubted;
    pace->instead = found;
    return !pace->is_doubted;
}

static struct hr_pace_shares shares_of(const struct hr_pace_spell *shared, double alone_rate)
{
    double alone_bytes = alone_rate * shared->seconds;
    return (struct hr_pace_shares){.kept = shared->written_bytes / alone_bytes,
                                   .together = (shared->written_bytes + shared->read_bytes) / alone_bytes};
}

static void judge(struct hr_pace *pace, int64_t now_ns)
{
    struct hr_pace_shares shares = shares_of(&pace->spell, pace->probed_rate);
    enum hr_pace_mode found = mode_for(&shares);
    if (shares.kept > implausible_share || !is_certain(pace, found))
        return;
    if (pace->is_judged && found == pace->mode && pace->probe_after_ns < last_probe_after_ns)
        pace->probe_after_ns *= 2;
    pace->mode = found;
    pace->shares = shares;
    pace->alone_rate = pace->probed_rate;
    pace->is_judged = true;
    pace->probe_again_ns = now_ns + pace->probe_after_ns * (found == HR_PACE_AFTER ? AFTER_WAITS : 1);
}

/* Where reading was found to be free it goes on all the time, so a drive that changes its mind is seen without a probe.
 */
static void watch(struct hr_pace *pace, const struct hr_pace_spell *spell)
{
    struct hr_pace_shares shares = shares_of(spell, pace->alone_rate);
    if (is_enough(spell) && is_shared(spell) && is_backed_up(spell))
        pace->is_judged = mode_for(&shares) == HR_PACE_EAGER;
}

static void add(struct hr_pace_spell *to, const struct hr_pace_spell *spell)
{
    to->written_bytes += spell->written_bytes;
    to->read_bytes += spell->read_bytes;
    to->seconds += spell->seconds;
    to->idle_seconds += spell->idle_seconds;
}

static void probe_on(struct hr_pace *pace, const struct hr_pace_spell *spell, int64_t now_ns)
{
    add(&pace->spell, spell);
    if (!is_backed_up(&pace->spell)) {
        begin(pace, HR_PROBE_NONE);
    } else if (is_enough(&pace->spell) && pace->probe == HR_PROBE_ALONE) {
        pace->probed_rate = pace->spell.written_bytes / pace->spell.seconds;
        begin(pace, HR_PROBE_SHARED);
    } else if (is_enough(&pace->spell) && is_shared(&pace->spell)) {
        judge(pace, now_ns);
        begin(pace, HR_PROBE_NONE);
    }
}

void hr__pace_saw_spell(struct hr_pace *pace, const struct hr_pace_spell *spell, int64_t now_ns)
{
    if (!pace->first_spell_ns)
        pace->first_spell_ns = now_ns;
    if (pace->probe != HR_PROBE_NONE)
        probe_on(pace, spell, now_ns);
    else if (pace->is_judged && pace->mode == HR_PACE_EAGER && !pace->fixed_because)
        watch(pace, spell);
    if (pace->probe == HR_PROBE_NONE && is_backed_up(spell) && is_probe_due(pace, now_ns))
        begin(pace, HR_PROBE_ALONE);
}

struct hr_pace_batch hr__pace_batch(const struct hr_pace *pace)
{
    struct hr_pace_batch batch = batches[pace->mode];
    if (pace->probe == HR_PROBE_NONE)
        return batch;
    batch.most_bytes = spell_bytes[pace->probe];
    if (batch.least_bytes > batch.most_bytes)
        batch.least_bytes = batch.most_bytes;
    return batch;
}

bool hr__pace_may_read_back(const struct hr_pace *pace, const struct hr_pace_now *now)
{
    if (pace->probe == HR_PROBE_SHARED)
        return true;
    if (pace->probe == HR_PROBE_ALONE && now->is_writing)
        return false;
    switch (pace->mode) {
    case HR_PACE_EAGER:
        return true;
    case HR_PACE_YIELD:
        return now->backlog_bytes <= keeps_up_bytes;
    case HR_PACE_AFTER:
        break;
    }
    return !now->is_writing && now->at_ns - pace->last_write_ns > long_idle_ns;
}

bool hr__pace_reads_beside(const struct hr_pace *pace)
{
    return pace->mode == HR_PACE_EAGER && (pace->is_judged || pace->fixed_because);
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
                 pace->shares.kept, pace->shares.together);
    else
        snprintf(out, out_size, "%s: not judged", choice);
}
