/* SPDX-License-Identifier: ISC */
/* Behind the pitch: boards and a stand full of people, on four walls around the ground. It is always far out of focus,
 * so it is painted once a card and kept at a few grades of blur. */
#ifndef DEMO_STAND_H
#define DEMO_STAND_H

#include "demo_canvas.h"
#include "demo_view.h"

enum { DEMO_STAND_GRADES = 4 };

struct demo_stand {
    struct demo_canvas walls[DEMO_STAND_GRADES]; /* each a strip that repeats around the ground */
};

void demo_stand_init(struct demo_stand *stand);
void demo_stand_finish(struct demo_stand *stand);
/* Draws from the top of the frame down to the foot of the walls. */
void demo_stand_draw(const struct demo_stand *stand, const struct demo_view *view, struct demo_canvas *frame);

#endif
