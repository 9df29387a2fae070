/* SPDX-License-Identifier: ISC */
/* A player as limbs in space: posed from what the player is doing, then projected and drawn from the farthest limb to
 * the nearest. */
#ifndef DEMO_FIGURE_H
#define DEMO_FIGURE_H

#include "demo_canvas.h"
#include "demo_world.h"

struct demo_limb {
    struct demo_point from, to;
    float from_radius_m, to_radius_m;
    struct demo_colour colour;
    float relief;
};

enum { DEMO_MOST_LIMBS = 96 };

struct demo_figure {
    struct demo_limb limbs[DEMO_MOST_LIMBS];
    unsigned count;
};

void demo_figure_pose(struct demo_figure *figure, const struct demo_person *person, const struct demo_view *view);
void demo_figure_add(struct demo_figure *figure, struct demo_point from, struct demo_point to, float from_radius_m,
                     float to_radius_m, struct demo_colour colour);
/* Draws onto `frame` by way of `layer`, blurred as the lens has it. */
void demo_figure_draw(const struct demo_figure *figure, const struct demo_view *view, struct demo_canvas *frame,
                      struct demo_canvas *layer, struct demo_canvas *spare);
void demo_figure_draw_shadow(const struct demo_figure *figure, const struct demo_view *view, struct demo_canvas *frame,
                             struct demo_canvas *layer, struct demo_canvas *spare);

#endif
