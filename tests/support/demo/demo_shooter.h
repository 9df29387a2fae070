/* SPDX-License-Identifier: ISC */
/* One photographer with one body: singles, bursts, a buffer that fills, frames that are skipped or deleted. */
#ifndef DEMO_SHOOTER_H
#define DEMO_SHOOTER_H

#include "demo_match.h"
#include "demo_plan.h"
#include "demo_random.h"

struct demo_shooter {
    const struct demo_options *options;
    int64_t midnight_s;
    char body;
    struct demo_random random;
    struct demo_frame *frames; /* filled from the front; the caller sees to room */
    size_t count;
    double now_s; /* of the last frame, local seconds since midnight */
    double buffered_frames;
    uint32_t sequence, burst;
    unsigned deleted;
};

/* Shoots `frames` frames of the play: singles before it by chance, then one to three bursts, or one long one that fills
 * the buffer when `is_held`. */
void demo_shooter_cover(struct demo_shooter *shooter, const struct demo_play *play, size_t frames, bool is_held);
void demo_shooter_take_clip(struct demo_shooter *shooter, double at_s);
/* How many frames a held burst wants, so that the body then stands still at the drain rate for 3.2 to 4.6 s; 0 when
 * this body's buffer never fills. */
size_t demo_shooter_held_frames(struct demo_shooter *shooter);

#endif
