/* SPDX-License-Identifier: ISC */
#include "demo_view.h"

#include <math.h>

/* A little wider than 400 mm at f/2.8 is: the players shall stand out from the crowd. */
static const float aperture_m = 0.2F;

struct demo_point demo_point_add(struct demo_point a, struct demo_point b, float times_b)
{
    return (struct demo_point){a.x + b.x * times_b, a.y + b.y * times_b, a.z + b.z * times_b};
}

float demo_view_depth(const struct demo_view *view, struct demo_point point)
{
    return (point.x - view->eye.x) * view->forward_x + (point.y - view->eye.y) * view->forward_y;
}

struct demo_spot demo_view_project(const struct demo_view *view, struct demo_point point)
{
    float depth_m = demo_view_depth(view, point), scale = view->focal_pixels / fmaxf(depth_m, 0.5F);
    float right_m = (point.x - view->eye.x) * view->forward_y - (point.y - view->eye.y) * view->forward_x;
    return (struct demo_spot){.column = view->centre_column + right_m * scale,
                              .row = view->horizon_row + (view->eye.z - point.z) * scale,
                              .depth_m = depth_m,
                              .pixels_per_m = scale};
}

float demo_view_blur_pixels(const struct demo_view *view, float depth_m)
{
    return view->focal_pixels * aperture_m * fabsf(depth_m - view->focus_m) / (2 * depth_m * view->focus_m);
}
