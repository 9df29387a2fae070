/* SPDX-License-Identifier: ISC */
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "demo_canvas.h"
#include "demo_fail.h"

/* A box of fractional width 2·reach + 1 + 2·edge: weight `whole` within reach, `part` for the two just outside; all
 * weights add up to 2^16. */
struct box {
    int reach;
    uint32_t whole, part;
};

static struct box box_of(float radius_pixels, int passes)
{
    /* A disc of radius R has variance R²/4 along an axis, a box of width w has (w² - 1)/12. */
    float width = sqrtf(1 + 3 * radius_pixels * radius_pixels / (float)passes);
    int reach = (int)((width - 1) / 2);
    float edge = (width - 1) / 2 - (float)reach;
    return (struct box){reach, (uint32_t)(65535 / width), (uint32_t)(65535 * edge / width)};
}

/* One row of results from the sums of the columns: a loop that compilers turn into vector code. */
static void blur_line(unsigned char *restrict to, const uint32_t *restrict sums, const unsigned char *restrict before,
                      const unsigned char *restrict after, size_t size, struct box box)
{
    for (size_t i = 0; i < size; i++)
        to[i] = (unsigned char)((sums[i] * box.whole + (uint32_t)(before[i] + after[i]) * box.part + 32768) >> 16);
}

static void add_line(uint32_t *restrict sums, const unsigned char *restrict line, size_t size)
{
    for (size_t i = 0; i < size; i++)
        sums[i] += line[i];
}

static void subtract_line(uint32_t *restrict sums, const unsigned char *restrict line, size_t size)
{
    for (size_t i = 0; i < size; i++)
        sums[i] -= line[i];
}

/* Blurs along columns. Beyond the first and the last row there is nothing. */
static void blur_columns(struct demo_canvas *to, const struct demo_canvas *from, struct box box)
{
    size_t size = (size_t)from->width * 4;
    uint32_t *sums = demo_allocate(size, sizeof *sums);
    unsigned char *none = demo_allocate(size, 1);
    demo_canvas_start(to, from->left, from->top, from->width, from->height);
    for (int row = -box.reach; row < from->height; row++) {
        const unsigned char *here = from->pixels + (ptrdiff_t)row * (ptrdiff_t)size;
        ptrdiff_t reach = (ptrdiff_t)box.reach * (ptrdiff_t)size;
        bool has_after = row + box.reach + 1 < from->height, has_before = row - box.reach - 1 >= 0;
        if (row + box.reach < from->height)
            add_line(sums, here + reach, size);
        if (row < 0)
            continue;
        blur_line(to->pixels + (size_t)row * size, sums, has_before ? here - reach - size : none,
                  has_after ? here + reach + size : none, size, box);
        if (row - box.reach >= 0)
            subtract_line(sums, here - reach, size);
    }
    free(sums);
    free(none);
}

/* In small squares, which stay in the cache. */
static void transpose(struct demo_canvas *to, const struct demo_canvas *from)
{
    enum { SQUARE = 16 };
    demo_canvas_start(to, from->left, from->top, from->height, from->width);
    for (int top = 0; top < from->height; top += SQUARE)
        for (int left = 0; left < from->width; left += SQUARE)
            for (int row = top; row < top + SQUARE && row < from->height; row++)
                for (int column = left; column < left + SQUARE && column < from->width; column++)
                    memcpy(to->pixels + ((size_t)column * (size_t)to->width + (size_t)row) * 4,
                           from->pixels + ((size_t)row * (size_t)from->width + (size_t)column) * 4, 4);
}

static void swap(struct demo_canvas *a, struct demo_canvas *b)
{
    struct demo_canvas was = *a;
    *a = *b;
    *b = was;
}

void demo_canvas_blur(struct demo_canvas *canvas, float radius_pixels, struct demo_canvas *spare)
{
    const float least_pixels = 0.3F, wide_pixels = 2.5F;
    int passes = radius_pixels < wide_pixels ? 1 : 2;
    struct box box = box_of(radius_pixels, passes);
    if (radius_pixels < least_pixels)
        return;
    for (int direction = 0; direction < 2; direction++) {
        for (int pass = 0; pass < passes; pass++) {
            blur_columns(spare, canvas, box);
            swap(spare, canvas);
        }
        transpose(spare, canvas);
        swap(spare, canvas);
    }
}
