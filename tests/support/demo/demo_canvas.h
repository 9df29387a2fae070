/* SPDX-License-Identifier: ISC */
/* Pixels, and the shapes that figures are made of. A canvas has four bytes a pixel: red, green, blue, cover.
 *
 * Things that are out of focus are drawn sharp on a layer (a canvas over part of the frame, transparent at first), the
 * layer is blurred, then laid over the frame: so the edge of a blurred thing lets what is behind it through, as a lens
 * does. */
#ifndef DEMO_CANVAS_H
#define DEMO_CANVAS_H

#include <stddef.h>

struct demo_colour {
    float red, green, blue; /* 0..255 */
};

struct demo_canvas {
    int left, top; /* of a layer, in the frame */
    int width, height;
    unsigned char *pixels; /* colours are multiplied by cover */
    size_t capacity_bytes;
};

struct demo_disc {
    float column, row, radius;
};

struct demo_bounds {
    float left, top, right, bottom;
};

/* A canvas grows to the greatest size it was started with. Zeroed is empty. */
void demo_canvas_start(struct demo_canvas *canvas, int left, int top, int width, int height);
void demo_canvas_finish(struct demo_canvas *canvas);
/* Starts a transparent layer for what lies within `bounds`, with `margin` pixels around it. Returns 0 when none of it
 * is within the frame. */
int demo_canvas_start_layer(struct demo_canvas *layer, const struct demo_canvas *frame, struct demo_bounds bounds,
                            float margin);

void demo_bounds_include(struct demo_bounds *bounds, struct demo_disc disc);
struct demo_colour demo_colour_mix(struct demo_colour a, struct demo_colour b, float part_of_b);

/* Two discs and all between them, lit from the upper left by `relief` (0 flat, 1 round). */
void demo_canvas_limb(struct demo_canvas *layer, struct demo_disc a, struct demo_disc b, struct demo_colour colour,
                      float relief);
/* Lays the layer over the frame, `opacity` 0..1. */
void demo_canvas_lay(struct demo_canvas *frame, const struct demo_canvas *layer, float opacity);
/* Blurs by a circle of confusion of this radius, approximated by one or two box filters of the same variance. `spare`
 * is working room. */
void demo_canvas_blur(struct demo_canvas *canvas, float radius_pixels, struct demo_canvas *spare);
/* `turned` becomes the canvas turned by a quarter to the left. */
void demo_canvas_turn(struct demo_canvas *turned, const struct demo_canvas *canvas);
/* `small` becomes the canvas shrunk by a whole factor. */
void demo_canvas_shrink(struct demo_canvas *small, const struct demo_canvas *canvas, int factor);

#endif
