/* SPDX-License-Identifier: ISC */
/* The ground: blue turf with white lines in a green surround, one row of the frame at a time. Lines and edges are
 * computed with the blur the lens gives that row, so nothing is blurred afterwards. */
#ifndef DEMO_PITCH_H
#define DEMO_PITCH_H

#include "demo_canvas.h"
#include "demo_view.h"

enum { DEMO_GRAIN_SIDE = 512 };

/* Made once a card: the grain of the turf. */
struct demo_pitch {
    signed char grain[DEMO_GRAIN_SIDE * DEMO_GRAIN_SIDE];
};

void demo_pitch_init(struct demo_pitch *pitch);
/* Draws every row below the horizon as far as the ground can reach; what stands on it comes after. */
void demo_pitch_draw(const struct demo_pitch *pitch, const struct demo_view *view, struct demo_canvas *frame);

#endif
