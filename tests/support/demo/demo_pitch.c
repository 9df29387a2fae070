/* SPDX-License-Identifier: ISC */
#include "demo_pitch.h"

#include <math.h>
#include <stdint.h>

#include "demo_random.h"
#include "demo_world.h"

static const struct demo_colour turf = {28, 98, 176}, surround = {46, 138, 84}, white = {244, 246, 250};
static const float circle_radius_m = 14.63F, half_line_m = 0.0375F;

/* One row of the frame on the ground: the point under its first pixel, the step to the next pixel and to the next row.
 */
struct ground_row {
    unsigned char *pixels;
    int width;
    float x, y, step_x, step_y, down_x, down_y;
    float blur_pixels;
};

void demo_pitch_init(struct demo_pitch *pitch)
{
    struct demo_random random = demo_random_of(0, "grain", 0);
    for (size_t i = 0; i < sizeof pitch->grain; i++)
        pitch->grain[i] = (signed char)(demo_random_normal(&random) * 20);
}

static void set(unsigned char *pixel, struct demo_colour colour)
{
    pixel[0] = (unsigned char)colour.red;
    pixel[1] = (unsigned char)colour.green;
    pixel[2] = (unsigned char)colour.blue;
    pixel[3] = 255;
}

static void paint(unsigned char *pixel, struct demo_colour colour, float cover)
{
    pixel[0] = (unsigned char)((float)pixel[0] + (colour.red - (float)pixel[0]) * cover);
    pixel[1] = (unsigned char)((float)pixel[1] + (colour.green - (float)pixel[1]) * cover);
    pixel[2] = (unsigned char)((float)pixel[2] + (colour.blue - (float)pixel[2]) * cover);
}

/* How much a band of half width `half` covers at `distance` from its middle, seen through a box of half width `blur`.
 */
static float band_cover(float distance, float half, float blur)
{
    float narrow = fminf(half, blur);
    return fmaxf(0, fminf(1, (half + blur - fabsf(distance)) / (2 * narrow))) * fminf(1, half / blur);
}

/* The blur of this row in a coordinate that changes by `step` a pixel and by `down` a row. */
static float blur_in(const struct ground_row *row, float step, float down)
{
    return 1e-4F + (0.5F + row->blur_pixels * 0.8F) * sqrtf(step * step + down * down);
}

/* Paints where the coordinate first + step·column lies within half of `middle`, and where low <= other +
 * other_step·column <= high. */
static void paint_band(const struct ground_row *row, bool along_x, float middle, float half, struct demo_colour colour,
                       float low, float high)
{
    float first = along_x ? row->y : row->x, step = along_x ? row->step_y : row->step_x;
    float other = along_x ? row->x : row->y, other_step = along_x ? row->step_x : row->step_y;
    float blur = blur_in(row, step, along_x ? row->down_y : row->down_x), reach = half + blur;
    float from = 0, to = (float)row->width;
    if (fabsf(step) > 1e-7F) {
        float a = (middle - reach - first) / step, b = (middle + reach - first) / step;
        from = fmaxf(from, fminf(a, b));
        to = fminf(to, fmaxf(a, b) + 1);
    }
    for (int column = (int)from; column < (int)to; column++) {
        float at = other + other_step * (float)column, distance = first + step * (float)column - middle;
        if (at < low || at > high)
            continue;
        if (fabsf(distance) <= half - blur)
            set(row->pixels + (size_t)column * 4, colour);
        else
            paint(row->pixels + (size_t)column * 4, colour, band_cover(distance, half, blur));
    }
}

/* The shooting circle: a quarter circle about each post, joined by a straight line. */
static void paint_circle(const struct ground_row *row)
{
    float blur =
        blur_in(row, fmaxf(fabsf(row->step_x), fabsf(row->step_y)), fmaxf(fabsf(row->down_x), fabsf(row->down_y)));
    for (int column = 0; column < row->width; column++) {
        float x = row->x + row->step_x * (float)column - demo_goal_line_m;
        float y = fmaxf(0, fabsf(row->y + row->step_y * (float)column) - demo_goal_half_width_m);
        if (x > 0 || x < -circle_radius_m - blur - 1)
            continue;
        float distance = sqrtf(x * x + y * y) - circle_radius_m;
        if (fabsf(distance) < half_line_m + blur)
            paint(row->pixels + (size_t)column * 4, white, band_cover(distance, half_line_m, blur));
    }
}

static void paint_lines(const struct ground_row *row)
{
    static const float across[] = {-demo_goal_line_m, -22.9F, 0, 22.9F, demo_goal_line_m};
    for (unsigned i = 0; i < sizeof across / sizeof *across; i++)
        paint_band(row, false, across[i], half_line_m, white, -demo_side_line_m, demo_side_line_m);
    for (int side = -1; side <= 1; side += 2)
        paint_band(row, true, (float)side * demo_side_line_m, half_line_m, white, -demo_goal_line_m, demo_goal_line_m);
    paint_band(row, false, demo_goal_line_m - 6.4F, 0.075F, white, -0.075F, 0.075F);
    paint_circle(row);
}

static int grain_at(const struct demo_pitch *pitch, int64_t x, int64_t y)
{
    return pitch->grain[(size_t)(y & (DEMO_GRAIN_SIDE - 1)) * DEMO_GRAIN_SIDE + (size_t)(x & (DEMO_GRAIN_SIDE - 1))];
}

static void lighten(unsigned char *pixel, int light)
{
    for (int part = 0; part < 3; part++) {
        int value = pixel[part] + light;
        pixel[part] = (unsigned char)(value < 0 ? 0 : value > 255 ? 255 : value);
    }
}

/* Grain fades where a pixel covers more ground than a grain, and where the lens blurs it. Worn patches are 32 times as
 * large and stay. */
static void paint_grain(const struct demo_pitch *pitch, const struct ground_row *row, float pixels_per_m)
{
    enum { PATCH_WEIGHT = 26, PATCH_STEP = 8, LEAST_WEIGHT = 4 };
    const float per_m = 28 * 65536;
    float seen = fminf(1, fminf(pixels_per_m / 110, 1) / (1 + row->blur_pixels * row->blur_pixels * 1.2F));
    int weight = (int)(seen * 200), patch = 0;
    int64_t x = (int64_t)(row->x * per_m), y = (int64_t)(row->y * per_m);
    int64_t step_x = (int64_t)(row->step_x * per_m), step_y = (int64_t)(row->step_y * per_m);
    for (int column = 0; column < row->width; column++, x += step_x, y += step_y) {
        if (column % PATCH_STEP == 0)
            patch = grain_at(pitch, x >> 21, y >> 21) * PATCH_WEIGHT;
        int fine = weight < LEAST_WEIGHT ? 0 : grain_at(pitch, x >> 16, y >> 16) * weight;
        lighten(row->pixels + (size_t)column * 4, (fine + patch) / 256);
    }
}

static void fill(const struct ground_row *row, struct demo_colour colour)
{
    for (int column = 0; column < row->width; column++)
        set(row->pixels + (size_t)column * 4, colour);
}

/* Turf grazes the light: paler and greyer with distance. */
static struct demo_colour in_distance(struct demo_colour colour, float depth_m)
{
    static const struct demo_colour haze = {150, 176, 204};
    return demo_colour_mix(colour, haze, fminf(0.42F, depth_m / 170));
}

static void draw_row(const struct demo_pitch *pitch, const struct demo_view *view, struct demo_canvas *frame, int index)
{
    float below = (float)index + 0.5F - view->horizon_row;
    float depth = view->focal_pixels * view->eye.z / below, right = (0.5F - view->centre_column) / view->focal_pixels;
    float across_x = view->forward_y, across_y = -view->forward_x;
    float ray_x = view->forward_x + across_x * right, ray_y = view->forward_y + across_y * right;
    struct ground_row row = {.pixels = frame->pixels + (size_t)index * (size_t)frame->width * 4,
                             .width = frame->width,
                             .x = view->eye.x + depth * ray_x,
                             .y = view->eye.y + depth * ray_y,
                             .step_x = depth / view->focal_pixels * across_x,
                             .step_y = depth / view->focal_pixels * across_y,
                             .down_x = depth / below * view->forward_x,
                             .down_y = depth / below * view->forward_y,
                             .blur_pixels = demo_view_blur_pixels(view, depth)};
    fill(&row, in_distance(surround, depth));
    paint_band(&row, true, 0, demo_side_line_m + 2, in_distance(turf, depth), -demo_goal_line_m - 3,
               demo_goal_line_m + 3);
    paint_grain(pitch, &row, view->focal_pixels / depth);
    paint_lines(&row);
}

void demo_pitch_draw(const struct demo_pitch *pitch, const struct demo_view *view, struct demo_canvas *frame)
{
    const float farthest_m = 150;
    float first = view->horizon_row + view->focal_pixels * view->eye.z / farthest_m;
    for (int row = first > 0 ? (int)first : 0; row < frame->height; row++)
        draw_row(pitch, view, frame, row);
}
