/* SPDX-License-Identifier: ISC */
/* The camera before the pitch. Metres; x along the pitch towards the goal that is attacked, y across it, z up; origin
 * on the centre spot.
 *
 * The back of the camera stays upright (a shift lens instead of a tilt), so every row of the frame is one depth on the
 * ground. */
#ifndef DEMO_VIEW_H
#define DEMO_VIEW_H

struct demo_point {
    float x, y, z;
};

struct demo_view {
    struct demo_point eye;
    float forward_x, forward_y; /* level unit vector; right is (forward_y, -forward_x) */
    float focal_pixels;
    float centre_column, horizon_row;
    float focus_m; /* distance that is sharp */
};

struct demo_spot {
    float column, row;
    float depth_m; /* below 0.5 it is behind the camera or too near: column and row mean nothing */
    float pixels_per_m;
};

struct demo_point demo_point_add(struct demo_point a, struct demo_point b, float times_b);
float demo_view_depth(const struct demo_view *view, struct demo_point point);
struct demo_spot demo_view_project(const struct demo_view *view, struct demo_point point);
/* Radius of the circle of confusion at a depth, thin lens: f·A·|d - s| / (2·d·s) with f in pixels, aperture A, depth d,
 * focus s. */
float demo_view_blur_pixels(const struct demo_view *view, float depth_m);

#endif
