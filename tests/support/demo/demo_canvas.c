/* SPDX-License-Identifier: ISC */
#include "demo_canvas.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "demo_fail.h"

void demo_canvas_start(struct demo_canvas *canvas, int left, int top, int width, int height)
{
    size_t bytes = (size_t)width * (size_t)height * 4;
    if (bytes > canvas->capacity_bytes) {
        free(canvas->pixels);
        canvas->pixels = demo_allocate(bytes, 1);
        canvas->capacity_bytes = bytes;
    }
    canvas->left = left;
    canvas->top = top;
    canvas->width = width;
    canvas->height = height;
}

void demo_canvas_finish(struct demo_canvas *canvas)
{
    free(canvas->pixels);
    *canvas = (struct demo_canvas){0};
}

int demo_canvas_start_layer(struct demo_canvas *layer, const struct demo_canvas *frame, struct demo_bounds bounds,
                            float margin)
{
    int left = (int)floorf(fmaxf(bounds.left, 0) - margin), top = (int)floorf(fmaxf(bounds.top, 0) - margin);
    int right = (int)ceilf(fminf(bounds.right, (float)frame->width) + margin);
    int bottom = (int)ceilf(fminf(bounds.bottom, (float)frame->height) + margin);
    int is_seen = bounds.left - margin < (float)frame->width && bounds.right + margin > 0 &&
                  bounds.top - margin < (float)frame->height && bounds.bottom + margin > 0 && right > left &&
                  bottom > top;
    if (is_seen) {
        demo_canvas_start(layer, left, top, right - left, bottom - top);
        memset(layer->pixels, 0, (size_t)layer->width * (size_t)layer->height * 4);
    }
    return is_seen;
}

void demo_bounds_include(struct demo_bounds *bounds, struct demo_disc disc)
{
    bounds->left = fminf(bounds->left, disc.column - disc.radius - 1);
    bounds->top = fminf(bounds->top, disc.row - disc.radius - 1);
    bounds->right = fmaxf(bounds->right, disc.column + disc.radius + 1);
    bounds->bottom = fmaxf(bounds->bottom, disc.row + disc.radius + 1);
}

struct demo_colour demo_colour_mix(struct demo_colour a, struct demo_colour b, float part_of_b)
{
    return (struct demo_colour){a.red + (b.red - a.red) * part_of_b, a.green + (b.green - a.green) * part_of_b,
                                a.blue + (b.blue - a.blue) * part_of_b};
}

static unsigned char over(float colour, float cover, unsigned char below)
{
    return (unsigned char)(fminf(colour, 255) * cover + (float)below * (1 - cover) + 0.5F);
}

static void put(unsigned char *pixel, struct demo_colour colour, float light, float cover)
{
    const float parts[4] = {colour.red * light, colour.green * light, colour.blue * light, 255};
    for (int i = 0; i < 4; i++)
        pixel[i] = cover >= 1 ? (unsigned char)fminf(parts[i], 255) : over(parts[i], cover, pixel[i]);
}

static int clamp(float value, int least, int most)
{
    return value < (float)least ? least : value > (float)most ? most : (int)value;
}

/* The columns that a row at `y` below a's centre can touch: those near the piece of the middle line within reach of the
 * row. */
static void narrow(int *left, int *right, const struct demo_canvas *layer, struct demo_disc a, float along_x,
                   float along_y, float y, float reach)
{
    float from = 0, to = 1;
    if (fabsf(along_y) > 1e-3F) {
        float first = (y - reach) / along_y, second = (y + reach) / along_y;
        from = fminf(1, fmaxf(0, fminf(first, second)));
        to = fminf(1, fmaxf(0, fmaxf(first, second)));
    }
    float at = a.column - (float)layer->left, x = along_x * from, end_x = along_x * to;
    *left = clamp(at + fminf(x, end_x) - reach, 0, layer->width);
    *right = clamp(at + fmaxf(x, end_x) + reach + 1, 0, layer->width);
}

void demo_canvas_limb(struct demo_canvas *layer, struct demo_disc a, struct demo_disc b, struct demo_colour colour,
                      float relief)
{
    float reach = fmaxf(fmaxf(a.radius, b.radius), 0.5F) + 1;
    int top = clamp(fminf(a.row, b.row) - reach - (float)layer->top, 0, layer->height), left, right;
    int bottom = clamp(fmaxf(a.row, b.row) + reach - (float)layer->top + 1, 0, layer->height);
    float along_x = b.column - a.column, along_y = b.row - a.row;
    float per_length = 1 / fmaxf(along_x * along_x + along_y * along_y, 1e-6F);
    /* A limb thinner than a pixel keeps its weight by losing cover. */
    float thin = fminf(1, fmaxf(a.radius, b.radius) * 2);
    for (int row = top; row < bottom; row++) {
        float y = (float)(row + layer->top) + 0.5F - a.row;
        narrow(&left, &right, layer, a, along_x, along_y, y, reach);
        unsigned char *pixel = layer->pixels + ((size_t)row * (size_t)layer->width + (size_t)left) * 4;
        for (int column = left; column < right; column++, pixel += 4) {
            float x = (float)(column + layer->left) + 0.5F - a.column;
            float part = fminf(1, fmaxf(0, (x * along_x + y * along_y) * per_length));
            float radius = fmaxf(a.radius + (b.radius - a.radius) * part, 0.5F);
            float away_x = x - along_x * part, away_y = y - along_y * part;
            float square = away_x * away_x + away_y * away_y;
            if (square >= (radius + 0.5F) * (radius + 0.5F))
                continue;
            float light = 1 - relief * (away_x * 0.20F + away_y * 0.28F) / radius;
            put(pixel, colour, light, fminf(1, radius + 0.5F - sqrtf(square)) * thin);
        }
    }
}

void demo_canvas_lay(struct demo_canvas *frame, const struct demo_canvas *layer, float opacity)
{
    int left = layer->left > 0 ? layer->left : 0, top = layer->top > 0 ? layer->top : 0;
    int right = layer->left + layer->width < frame->width ? layer->left + layer->width : frame->width;
    int bottom = layer->top + layer->height < frame->height ? layer->top + layer->height : frame->height;
    unsigned weight = (unsigned)(opacity * 256);
    for (int row = top; row < bottom; row++) {
        unsigned char *to = frame->pixels + ((size_t)row * (size_t)frame->width + (size_t)left) * 4;
        const unsigned char *from =
            layer->pixels + ((size_t)(row - layer->top) * (size_t)layer->width + (size_t)(left - layer->left)) * 4;
        for (int column = left; column < right; column++, to += 4, from += 4) {
            unsigned rest = 65280 - from[3] * weight;
            if (rest == 65280)
                continue;
            for (int i = 0; i < 3; i++)
                to[i] = (unsigned char)((from[i] * weight * 255 + to[i] * rest + 32640) / 65280);
        }
    }
}

void demo_canvas_turn(struct demo_canvas *turned, const struct demo_canvas *canvas)
{
    demo_canvas_start(turned, 0, 0, canvas->height, canvas->width);
    for (int row = 0; row < turned->height; row++)
        for (int column = 0; column < turned->width; column++)
            memcpy(turned->pixels + ((size_t)row * (size_t)turned->width + (size_t)column) * 4,
                   canvas->pixels + ((size_t)column * (size_t)canvas->width + (size_t)(canvas->width - 1 - row)) * 4,
                   4);
}

/* Every other pixel of every other row is enough for a thumbnail. */
static unsigned char mean(const struct demo_canvas *canvas, int left, int top, int factor, int part)
{
    unsigned sum = 0, count = 0;
    for (int row = top; row < top + factor; row += 2)
        for (int column = left; column < left + factor; column += 2, count++)
            sum += canvas->pixels[((size_t)row * (size_t)canvas->width + (size_t)column) * 4 + (size_t)part];
    return (unsigned char)(sum / count);
}

void demo_canvas_shrink(struct demo_canvas *small, const struct demo_canvas *canvas, int factor)
{
    demo_canvas_start(small, 0, 0, canvas->width / factor, canvas->height / factor);
    unsigned char *to = small->pixels;
    for (int row = 0; row < small->height; row++)
        for (int column = 0; column < small->width; column++)
            for (int part = 0; part < 4; part++)
                *to++ = mean(canvas, column * factor, row * factor, factor, part);
}
