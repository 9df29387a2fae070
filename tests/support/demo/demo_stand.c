/* SPDX-License-Identifier: ISC */
#include "demo_stand.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "demo_fail.h"
#include "demo_glyphs.h"
#include "demo_random.h"
#include "demo_world.h"

/* The strip: 64 m around, 12 m high, 16 pixels a metre. Walls stand 12 m outside the pitch. */
enum { PER_M = 16, AROUND_M = 64, HIGH_M = 12, WIDTH = AROUND_M * PER_M, HEIGHT = HIGH_M * PER_M, MARGIN = 32 };
static const float outside_m = 12, blur_per_grade_m = 0.08F;

static void fill_rows(struct demo_canvas *wall, int top, int bottom, struct demo_colour upper, struct demo_colour lower)
{
    for (int row = top; row < bottom; row++) {
        struct demo_colour colour = demo_colour_mix(upper, lower, (float)(row - top) / (float)(bottom - top));
        struct demo_disc left = {-2, (float)row + 0.5F, 0.6F},
                         right = {(float)wall->width + 2, (float)row + 0.5F, 0.6F};
        demo_canvas_limb(wall, left, right, colour, 0);
    }
}

static struct demo_colour coat(struct demo_random *random)
{
    static const struct demo_colour coats[] = {{196, 40, 54},   {240, 240, 236}, {40, 52, 92}, {244, 200, 64},
                                               {70, 76, 86},    {120, 150, 186}, {58, 96, 72}, {214, 120, 60},
                                               {236, 236, 240}, {150, 44, 70}};
    return coats[demo_random_index(random, sizeof coats / sizeof *coats)];
}

static void seat_person(struct demo_canvas *wall, struct demo_random *random, float column, float row)
{
    static const struct demo_colour skin = {222, 170, 138}, dark_skin = {134, 92, 66}, hair = {58, 42, 32};
    column += (float)demo_random_range(random, -2, 2);
    row += (float)demo_random_range(random, -2, 2);
    struct demo_disc chest = {column, row + 9, 4.6F}, waist = {column, row + 15, 5};
    struct demo_disc head = {column, row, 3}, crown = {column, row - 1.2F, 2.8F};
    demo_canvas_limb(wall, chest, waist, coat(random), 1);
    demo_canvas_limb(wall, head, head, demo_random_unit(random) < 0.75 ? skin : dark_skin, 1);
    demo_canvas_limb(wall, crown, crown, hair, 1);
}

static void seat_crowd(struct demo_canvas *wall, float lowest_row)
{
    struct demo_random random = demo_random_of(0, "crowd", 0);
    for (int tier = 10; tier >= 0; tier--)
        for (float column = (float)(tier % 2) * 6; column < WIDTH + 2 * MARGIN; column += 11)
            if (demo_random_unit(&random) < 0.86)
                seat_person(wall, &random, column, lowest_row - (float)tier * 12);
}

static void write_board(struct demo_canvas *wall, const char *text, float left, float top, float dot,
                        struct demo_colour colour)
{
    for (; *text; text++, left += dot * (DEMO_GLYPH_COLUMNS + 1))
        for (int row = 0; row < DEMO_GLYPH_ROWS; row++)
            for (int column = 0; column < DEMO_GLYPH_COLUMNS; column++) {
                struct demo_disc at = {left + (float)column * dot, top + (float)row * dot, dot * 0.6F};
                if (demo_glyph_dot(*text, column, row))
                    demo_canvas_limb(wall, at, at, colour, 0);
            }
}

static void put_boards(struct demo_canvas *wall, int top, int bottom)
{
    static const struct demo_colour grounds[] = {{20, 40, 92}, {236, 238, 240}, {176, 28, 48}, {24, 108, 90}};
    static const struct demo_colour inks[] = {{250, 250, 250}, {20, 40, 92}, {255, 240, 200}, {240, 252, 244}};
    static const char *const texts[] = {"NORTHMERE", "CUP FINAL", "HOCKEY", "THE FINAL"};
    for (int board = 0; board < 8; board++) {
        float left = (float)(MARGIN + board * WIDTH / 8), right = left + WIDTH / 8.0F;
        for (int row = top; row < bottom; row++) {
            struct demo_disc from = {left, (float)row + 0.5F, 0.7F}, to = {right, (float)row + 0.5F, 0.7F};
            demo_canvas_limb(wall, from, to, grounds[board % 4], 0);
        }
        write_board(wall, texts[board % 4], left + 10, (float)top + 4, 2, inks[board % 4]);
    }
}

static void paint_wall(struct demo_canvas *wall)
{
    static const struct demo_colour roof = {58, 66, 80}, shade = {44, 48, 60}, steps = {92, 96, 106},
                                    sky = {176, 204, 232};
    int foot = HEIGHT - PER_M * 5 / 4;
    demo_canvas_start(wall, 0, 0, WIDTH + 2 * MARGIN, HEIGHT);
    memset(wall->pixels, 0, (size_t)wall->width * (size_t)wall->height * 4);
    fill_rows(wall, 0, PER_M, sky, sky);
    fill_rows(wall, PER_M, PER_M * 2, roof, roof);
    fill_rows(wall, PER_M * 2, foot, shade, steps);
    seat_crowd(wall, (float)foot - 10);
    put_boards(wall, foot, HEIGHT);
}

/* The margin on both sides carries what comes around again, so that the blur knows no seam; edges above and below
 * repeat. */
static void wrap(struct demo_canvas *wall)
{
    for (int row = 0; row < wall->height; row++) {
        unsigned char *pixels = wall->pixels + (size_t)row * (size_t)wall->width * 4;
        memcpy(pixels, pixels + WIDTH * 4, MARGIN * 4);
        memcpy(pixels + (WIDTH + MARGIN) * 4, pixels + MARGIN * 4, MARGIN * 4);
    }
}

/* Blurring let the edges of the strip run out into nothing: bring their colours back to full cover. */
static void fill_cover(struct demo_canvas *wall)
{
    unsigned char *pixel = wall->pixels;
    for (int i = 0; i < wall->width * wall->height; i++, pixel += 4)
        for (int part = 0; part < 3 && pixel[3] && pixel[3] < 255; part++)
            pixel[part] = (unsigned char)(pixel[part] * 255 / pixel[3]);
}

void demo_stand_init(struct demo_stand *stand)
{
    struct demo_canvas spare = {0};
    *stand = (struct demo_stand){0};
    for (int grade = 0; grade < DEMO_STAND_GRADES; grade++) {
        paint_wall(&stand->walls[grade]);
        wrap(&stand->walls[grade]);
        demo_canvas_blur(&stand->walls[grade], blur_per_grade_m * (float)(grade + 1) * PER_M, &spare);
        fill_cover(&stand->walls[grade]);
    }
    demo_canvas_finish(&spare);
}

void demo_stand_finish(struct demo_stand *stand)
{
    for (int grade = 0; grade < DEMO_STAND_GRADES; grade++)
        demo_canvas_finish(&stand->walls[grade]);
}

/* Where a column's ray meets a wall: how far away, and where along it. */
struct hit {
    float depth_m, around_m;
};

static struct hit meet(const struct demo_view *view, float right)
{
    float ray_x = view->forward_x + view->forward_y * right, ray_y = view->forward_y - view->forward_x * right;
    float wall_x = copysignf(demo_goal_line_m + outside_m, ray_x),
          wall_y = copysignf(demo_side_line_m + outside_m, ray_y);
    float depth_x = fabsf(ray_x) > 1e-5F ? (wall_x - view->eye.x) / ray_x : 1e9F;
    float depth_y = fabsf(ray_y) > 1e-5F ? (wall_y - view->eye.y) / ray_y : 1e9F;
    if (depth_x < depth_y)
        return (struct hit){depth_x, copysignf(1, -wall_x) * (view->eye.y + depth_x * ray_y) + 3 * AROUND_M};
    return (struct hit){depth_y, copysignf(1, wall_y) * (view->eye.x + depth_y * ray_x) + 4 * AROUND_M};
}

static unsigned blend(unsigned a, unsigned b, unsigned part_of_b)
{
    return a + (((b - a) * part_of_b) >> 8);
}

/* Bilinear; `x` and `y` in 1/256 pixels of the strip, whose margin keeps x + 1 inside. */
static void sample(unsigned char *pixel, const struct demo_canvas *wall, int x, int y)
{
    int last = (wall->height - 1) * 256 - 1;
    y = y < 0 ? 0 : y > last ? last : y;
    const unsigned char *from = wall->pixels + ((size_t)(y >> 8) * (size_t)wall->width + (size_t)(x >> 8)) * 4;
    const unsigned char *below = from + (size_t)wall->width * 4;
    unsigned part_x = (unsigned)x & 255, part_y = (unsigned)y & 255;
    for (int part = 0; part < 3; part++)
        pixel[part] = (unsigned char)blend(blend(from[part], from[part + 4], part_x),
                                           blend(below[part], below[part + 4], part_x), part_y);
    pixel[3] = 255;
}

static const struct demo_canvas *choose_grade(const struct demo_stand *stand, const struct demo_view *view)
{
    float depth = meet(view, 0).depth_m;
    float blur_m = demo_view_blur_pixels(view, depth) * depth / view->focal_pixels;
    int grade = (int)(blur_m / blur_per_grade_m - 0.5F);
    return &stand->walls[grade < 0 ? 0 : grade >= DEMO_STAND_GRADES ? DEMO_STAND_GRADES - 1 : grade];
}

/* One column of the frame on its wall, in 1/256 pixels of the strip. */
struct wall_column {
    int x, top_y, step_y, foot_row;
};

static struct wall_column column_of(const struct demo_view *view, int column)
{
    float right = ((float)column + 0.5F - view->centre_column) / view->focal_pixels;
    struct hit hit = meet(view, right);
    float metres_per_row = hit.depth_m / view->focal_pixels;
    float foot_row = view->horizon_row + view->eye.z / metres_per_row;
    float top_m = (foot_row - 0.5F) * metres_per_row; /* height above the ground of the frame's first row */
    return (struct wall_column){.x = (int)((fmodf(hit.around_m, AROUND_M) * PER_M + MARGIN) * 256),
                                .top_y = (int)(((float)HIGH_M - top_m) * PER_M * 256),
                                .step_y = (int)(metres_per_row * PER_M * 256),
                                .foot_row = (int)foot_row + 1};
}

void demo_stand_draw(const struct demo_stand *stand, const struct demo_view *view, struct demo_canvas *frame)
{
    const struct demo_canvas *wall = choose_grade(stand, view);
    struct wall_column *columns = demo_allocate((size_t)frame->width, sizeof *columns);
    int lowest = 0;
    for (int column = 0; column < frame->width; column++) {
        columns[column] = column_of(view, column);
        lowest = columns[column].foot_row > lowest ? columns[column].foot_row : lowest;
    }
    for (int row = 0; row < lowest && row < frame->height; row++)
        for (int column = 0; column < frame->width; column++)
            if (row < columns[column].foot_row)
                sample(frame->pixels + ((size_t)row * (size_t)frame->width + (size_t)column) * 4, wall,
                       columns[column].x, columns[column].top_y + row * columns[column].step_y);
    free(columns);
}
