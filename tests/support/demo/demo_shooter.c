/* SPDX-License-Identifier: ISC */
#include "demo_shooter.h"

#include <math.h>

/* Two plays are further apart than any play's own pauses, whatever the clock's resolution makes of them. */
static const double between_plays_s = 6.5;
static const double held_cadence_per_s = 30;

static int64_t floor_to(int64_t value, int64_t step)
{
    return value - value % step;
}

static struct demo_frame *take(struct demo_shooter *shooter, double at_s)
{
    struct demo_frame *frame = &shooter->frames[shooter->count++];
    int64_t local_ns = shooter->midnight_s * 1000000000 + (int64_t)llround(at_s * 1e9);
    int64_t step_ns = (int64_t)shooter->options->clock_resolution_ms * 1000000;
    *frame = (struct demo_frame){.body = shooter->body,
                                 .time_ns = local_ns - DEMO_OFFSET_MINUTES * INT64_C(60000000000),
                                 .stamp_ns = floor_to(local_ns, step_ns),
                                 .half = at_s < demo_match_half_time() ? 1 : 2,
                                 .sequence = shooter->sequence,
                                 .burst = shooter->burst,
                                 .deleted_before = shooter->deleted,
                                 .rating = DEMO_NO_RATING};
    shooter->deleted = 0;
    return frame;
}

static double choose_cadence(struct demo_shooter *shooter, bool is_held)
{
    static const double of_a[] = {20, 30, 30, 40}, of_b[] = {10, 12, 20, 20};
    unsigned choice = demo_random_index(&shooter->random, 4);
    if (shooter->options->cadence_per_s > 0)
        return shooter->options->cadence_per_s;
    if (is_held)
        return held_cadence_per_s;
    return shooter->body == 'A' ? of_a[choice] : of_b[choice];
}

/* When the press at `slot_s` is really taken: at once, or as soon as the card has made room. */
static double through_buffer(struct demo_shooter *shooter, double slot_s)
{
    const struct demo_options *options = shooter->options;
    if (!options->buffer_frames)
        return slot_s;
    double left = fmax(0, shooter->buffered_frames - (slot_s - shooter->now_s) * options->drain_per_s);
    double over = fmax(0, left + 1 - (double)options->buffer_frames);
    shooter->buffered_frames = left + 1 - over;
    return slot_s + over / options->drain_per_s;
}

static void shoot_burst(struct demo_shooter *shooter, const struct demo_moment *moment, double start_s, size_t frames,
                        double cadence_per_s)
{
    double interval_s = 1 / cadence_per_s, slot_s = start_s;
    double limit_s = 0.2 * interval_s;
    bool was_missing = true, was_stalled = false; /* the first frame is never one that is missing */
    shooter->burst++;
    for (size_t i = 0; i < frames; i++) {
        bool is_missing = demo_random_unit(&shooter->random) * 100 < shooter->options->drop_percent;
        bool is_deleted = demo_random_unit(&shooter->random) < 0.5;
        if (is_missing && !was_missing && !was_stalled) {
            slot_s += interval_s;
            shooter->deleted += is_deleted;
        }
        was_missing = is_missing;
        double taken_s = through_buffer(shooter, slot_s);
        double jitter_s = demo_random_normal(&shooter->random) * shooter->options->jitter_ms / 1000;
        struct demo_frame *frame = take(shooter, taken_s + fmax(-limit_s, fmin(limit_s, jitter_s)));
        frame->cadence_per_s = cadence_per_s;
        frame->is_stalled = was_stalled = taken_s > slot_s;
        frame->moment = *moment;
        frame->moment.elapsed_s = taken_s;
        frame->moment.burst_elapsed_s = taken_s - start_s;
        shooter->now_s = taken_s;
        slot_s = taken_s + interval_s;
    }
}

static void shoot_single(struct demo_shooter *shooter)
{
    shooter->sequence++;
    shooter->burst++;
    double at_s = shooter->now_s + between_plays_s + demo_random_range(&shooter->random, 0, 2);
    at_s = through_buffer(shooter, at_s);
    take(shooter, at_s)->moment = (struct demo_moment){.seed = demo_random_next(&shooter->random), .is_portrait = true};
    shooter->now_s = at_s;
}

/* A pause that is the end of a burst for anyone who reads stamps, and not the end of the play. */
static double pause_within_play(struct demo_shooter *shooter, double cadence_per_s)
{
    double resolution_s = (double)shooter->options->clock_resolution_ms / 1000;
    double least_s = fmax(fmax(3 / cadence_per_s, 2 * resolution_s), 0.4) + resolution_s + 0.1;
    return demo_random_range(&shooter->random, least_s, fmax(2.4, least_s + 0.3));
}

static void settle_elapsed(struct demo_shooter *shooter, size_t first, double start_s)
{
    for (size_t i = first; i < shooter->count; i++) {
        shooter->frames[i].moment.elapsed_s -= start_s;
        shooter->frames[i].moment.length_s = shooter->now_s - start_s + 0.5;
    }
}

static void shoot_bursts(struct demo_shooter *shooter, const struct demo_play *play, double start_s, size_t frames,
                         bool is_held)
{
    enum { LEAST = 5 };
    double cadence_per_s = choose_cadence(shooter, is_held);
    struct demo_moment moment = {.seed = play->seed};
    unsigned bursts = is_held || frames < 3 * LEAST ? 1 : 1 + demo_random_index(&shooter->random, 3);
    shooter->sequence++;
    for (; bursts; bursts--) {
        size_t spare = frames - bursts * (size_t)LEAST;
        size_t some = LEAST + (size_t)(demo_random_unit(&shooter->random) * 1.4 * (double)spare / bursts);
        size_t size = bursts == 1 ? frames : some;
        shoot_burst(shooter, &moment, start_s, size, cadence_per_s);
        start_s = shooter->now_s + pause_within_play(shooter, cadence_per_s);
        frames -= size;
    }
}

void demo_shooter_cover(struct demo_shooter *shooter, const struct demo_play *play, size_t frames, bool is_held)
{
    unsigned singles = is_held || frames < 12 || demo_random_unit(&shooter->random) > 0.4
                           ? 0
                           : 1 + demo_random_index(&shooter->random, 2);
    for (unsigned i = 0; i < singles; i++)
        shoot_single(shooter);
    double start_s =
        fmax(play->start_s, shooter->now_s + between_plays_s) + demo_random_range(&shooter->random, 0, 1.5);
    size_t first = shooter->count;
    shoot_bursts(shooter, play, start_s, frames - singles, is_held);
    settle_elapsed(shooter, first, start_s);
}

void demo_shooter_take_clip(struct demo_shooter *shooter, double at_s)
{
    struct demo_frame *clip = take(shooter, at_s);
    clip->is_clip = true;
    clip->sequence = clip->burst = 0;
    clip->moment = (struct demo_moment){.seed = demo_random_next(&shooter->random), .length_s = 8};
}

size_t demo_shooter_held_frames(struct demo_shooter *shooter)
{
    const struct demo_options *options = shooter->options;
    double cadence_per_s = options->cadence_per_s > 0 ? options->cadence_per_s : held_cadence_per_s;
    double stalled_s = demo_random_range(&shooter->random, 3.2, 4.6);
    if (!options->buffer_frames || options->drain_per_s >= cadence_per_s)
        return 0;
    double until_full = (double)options->buffer_frames / (1 - options->drain_per_s / cadence_per_s);
    return (size_t)ceil(until_full + stalled_s * options->drain_per_s);
}
