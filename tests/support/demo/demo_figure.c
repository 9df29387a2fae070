/* SPDX-License-Identifier: ISC */
#include "demo_figure.h"

#include <assert.h>
#include <stdlib.h>

/* Where the sun throws the shadow of a point one metre up. */
static const float shadow_x = -0.35F, shadow_y = 0.55F;

struct seen_limb {
    struct demo_disc from, to;
    float depth_m;
    const struct demo_limb *limb;
};

void demo_figure_add(struct demo_figure *figure, struct demo_point from, struct demo_point to, float from_radius_m,
                     float to_radius_m, struct demo_colour colour)
{
    assert(figure->count < DEMO_MOST_LIMBS);
    figure->limbs[figure->count++] = (struct demo_limb){from, to, from_radius_m, to_radius_m, colour, 1};
}

static int nearer_last(const void *a, const void *b)
{
    const struct seen_limb *x = a, *y = b;
    if (x->depth_m != y->depth_m)
        return x->depth_m > y->depth_m ? -1 : 1;
    return x->limb < y->limb ? -1 : 1;
}

static struct demo_disc disc_of(struct demo_spot spot, float radius_m)
{
    return (struct demo_disc){spot.column, spot.row, radius_m * spot.pixels_per_m};
}

static struct demo_point onto_ground(struct demo_point point)
{
    return (struct demo_point){point.x + point.z * shadow_x, point.y + point.z * shadow_y, 0};
}

/* The limbs as discs in the frame, and what they cover. False when the figure is behind or too near the camera. */
static bool see(struct seen_limb *seen, struct demo_bounds *bounds, const struct demo_figure *figure,
                const struct demo_view *view, bool is_shadow)
{
    *bounds = (struct demo_bounds){1e9F, 1e9F, -1e9F, -1e9F};
    for (unsigned i = 0; i < figure->count; i++) {
        const struct demo_limb *limb = &figure->limbs[i];
        struct demo_spot from = demo_view_project(view, is_shadow ? onto_ground(limb->from) : limb->from);
        struct demo_spot to = demo_view_project(view, is_shadow ? onto_ground(limb->to) : limb->to);
        if (from.depth_m < 3 || to.depth_m < 3)
            return false;
        seen[i] = (struct seen_limb){disc_of(from, limb->from_radius_m), disc_of(to, limb->to_radius_m),
                                     (from.depth_m + to.depth_m) / 2, limb};
        demo_bounds_include(bounds, seen[i].from);
        demo_bounds_include(bounds, seen[i].to);
    }
    return figure->count > 0;
}

void demo_figure_draw(const struct demo_figure *figure, const struct demo_view *view, struct demo_canvas *frame,
                      struct demo_canvas *layer, struct demo_canvas *spare)
{
    struct seen_limb seen[DEMO_MOST_LIMBS];
    struct demo_bounds bounds;
    if (!see(seen, &bounds, figure, view, false))
        return;
    float blur = demo_view_blur_pixels(view, seen[0].depth_m);
    if (!demo_canvas_start_layer(layer, frame, bounds, 1 + 1.5F * blur))
        return;
    qsort(seen, figure->count, sizeof *seen, nearer_last);
    for (unsigned i = 0; i < figure->count; i++)
        demo_canvas_limb(layer, seen[i].from, seen[i].to, seen[i].limb->colour, seen[i].limb->relief);
    demo_canvas_blur(layer, blur, spare);
    demo_canvas_lay(frame, layer, 1);
}

void demo_figure_draw_shadow(const struct demo_figure *figure, const struct demo_view *view, struct demo_canvas *frame,
                             struct demo_canvas *layer, struct demo_canvas *spare)
{
    static const struct demo_colour dark = {8, 20, 48};
    struct seen_limb seen[DEMO_MOST_LIMBS];
    struct demo_bounds bounds;
    if (!see(seen, &bounds, figure, view, true))
        return;
    float blur = 1.2F + demo_view_blur_pixels(view, seen[0].depth_m);
    if (!demo_canvas_start_layer(layer, frame, bounds, 1 + 1.5F * blur))
        return;
    for (unsigned i = 0; i < figure->count; i++) {
        /* What lies on the ground is seen from a low camera: flat. */
        seen[i].from.radius *= 0.45F;
        seen[i].to.radius *= 0.45F;
        if (seen[i].limb->relief > 0)
            demo_canvas_limb(layer, seen[i].from, seen[i].to, dark, 0);
    }
    demo_canvas_blur(layer, blur, spare);
    demo_canvas_lay(frame, layer, 0.42F);
}
