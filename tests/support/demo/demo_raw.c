/* SPDX-License-Identifier: ISC */
#include "demo_raw.h"

#include <string.h>

/* TIFF 6.0 and the published raw format built on it (version 1.4). */
enum {
    TAG_SUBFILE_TYPE = 0x00FE,
    TAG_WIDTH = 0x0100,
    TAG_HEIGHT = 0x0101,
    TAG_BITS = 0x0102,
    TAG_COMPRESSION = 0x0103,
    TAG_PHOTOMETRIC = 0x0106,
    TAG_STRIP = 0x0111,
    TAG_SAMPLES = 0x0115,
    TAG_ROWS_PER_STRIP = 0x0116,
    TAG_STRIP_SIZE = 0x0117,
    TAG_PLANAR = 0x011C,
    TAG_SUB_IFD = 0x014A,
    TAG_YCC_SUBSAMPLING = 0x0212,
    TAG_YCC_POSITIONING = 0x0213,
    TAG_REFERENCE = 0x0214,
    TAG_XMP = 0x02BC,
    TAG_MOSAIC_SIZE = 0x828D,
    TAG_MOSAIC = 0x828E,
    TAG_RAW_VERSION = 0xC612,
    TAG_RAW_BACK_VERSION = 0xC613,
    TAG_UNIQUE_MODEL = 0xC614,
    TAG_WHITE = 0xC61D,
    TAG_COLOUR_MATRIX = 0xC621,
    TAG_NEUTRAL = 0xC628,
    TAG_ILLUMINANT = 0xC65A
};
enum { JPEG = 7, YCC = 6, MOSAIC = 32803, RAW_SIDE = 32 };

static void add_image(struct demo_ifd *ifd, unsigned width, unsigned height, unsigned compression, unsigned photometric)
{
    demo_ifd_add_number(ifd, TAG_WIDTH, DEMO_LONG, width);
    demo_ifd_add_number(ifd, TAG_HEIGHT, DEMO_LONG, height);
    demo_ifd_add_number(ifd, TAG_COMPRESSION, DEMO_SHORT, compression);
    demo_ifd_add_number(ifd, TAG_PHOTOMETRIC, DEMO_SHORT, photometric);
    demo_ifd_add_number(ifd, TAG_ROWS_PER_STRIP, DEMO_LONG, height);
    demo_ifd_add_number(ifd, TAG_PLANAR, DEMO_SHORT, 1);
    demo_ifd_add_number(ifd, TAG_STRIP, DEMO_LONG, 0);
    demo_ifd_add_number(ifd, TAG_STRIP_SIZE, DEMO_LONG, 0);
}

static void add_strip(struct demo_bytes *out, size_t ifd_at, const void *data, size_t size)
{
    demo_ifd_set(out, ifd_at, TAG_STRIP, out->size);
    demo_ifd_set(out, ifd_at, TAG_STRIP_SIZE, size);
    demo_bytes_add(out, data, size);
}

static void add_raw_identity(struct demo_ifd *ifd)
{
    /* XYZ to a camera whose colours are those of sRGB (IEC 61966-2-1). */
    static const int matrix[] = {32405, 10000, -15371, 10000, -4985, 10000, -9693, 10000, 18760,
                                 10000, 416,   10000,  556,   10000, -2040, 10000, 10572, 10000};
    static const int neutral[] = {1, 1, 1, 1, 1, 1};
    enum { DAYLIGHT_D65 = 21 };
    demo_ifd_add_bytes(ifd, TAG_RAW_VERSION, DEMO_BYTE, "\1\4\0\0", 4);
    demo_ifd_add_bytes(ifd, TAG_RAW_BACK_VERSION, DEMO_BYTE, "\1\1\0\0", 4);
    demo_ifd_add_text(ifd, TAG_UNIQUE_MODEL, "Northmere Works Field");
    demo_ifd_add_rationals(ifd, TAG_COLOUR_MATRIX, DEMO_SRATIONAL, matrix, 9);
    demo_ifd_add_rationals(ifd, TAG_NEUTRAL, DEMO_RATIONAL, neutral, 3);
    demo_ifd_add_number(ifd, TAG_ILLUMINANT, DEMO_SHORT, DAYLIGHT_D65);
}

static size_t write_main(struct demo_bytes *out, const struct demo_frame *frame, const struct demo_exposure *exposure,
                         const char *xmp)
{
    static const unsigned eight_bits[] = {8, 8, 8}, subsampling[] = {2, 2};
    static const int reference[] = {0, 1, 255, 1, 128, 1, 255, 1, 128, 1, 255, 1};
    struct demo_ifd main = {0};
    demo_exif_add_camera(&main, frame);
    add_image(&main, exposure->width_pixels, exposure->height_pixels, JPEG, YCC);
    demo_ifd_add_number(&main, TAG_SUBFILE_TYPE, DEMO_LONG, 1);
    demo_ifd_add_shorts(&main, TAG_BITS, eight_bits, 3);
    demo_ifd_add_number(&main, TAG_SAMPLES, DEMO_SHORT, 3);
    demo_ifd_add_shorts(&main, TAG_YCC_SUBSAMPLING, subsampling, 2);
    demo_ifd_add_number(&main, TAG_YCC_POSITIONING, DEMO_SHORT, 1);
    demo_ifd_add_rationals(&main, TAG_REFERENCE, DEMO_RATIONAL, reference, 6);
    demo_ifd_add_number(&main, TAG_SUB_IFD, DEMO_LONG, 0);
    demo_ifd_add_number(&main, DEMO_TAG_EXIF, DEMO_LONG, 0);
    if (*xmp)
        demo_ifd_add_bytes(&main, TAG_XMP, DEMO_BYTE, xmp, strlen(xmp));
    add_raw_identity(&main);
    return demo_ifd_write(out, &main);
}

static size_t write_mosaic_ifd(struct demo_bytes *out)
{
    static const unsigned repeat[] = {2, 2};
    struct demo_ifd raw = {0};
    add_image(&raw, RAW_SIDE, RAW_SIDE, 1, MOSAIC);
    demo_ifd_add_number(&raw, TAG_SUBFILE_TYPE, DEMO_LONG, 0);
    demo_ifd_add_number(&raw, TAG_BITS, DEMO_SHORT, 16);
    demo_ifd_add_number(&raw, TAG_SAMPLES, DEMO_SHORT, 1);
    demo_ifd_add_shorts(&raw, TAG_MOSAIC_SIZE, repeat, 2);
    demo_ifd_add_bytes(&raw, TAG_MOSAIC, DEMO_BYTE, "\0\1\1\2", 4);
    demo_ifd_add_number(&raw, TAG_WHITE, DEMO_LONG, 65535);
    return demo_ifd_write(out, &raw);
}

/* Red, green, green, blue in squares of four, from evenly spread pixels of the picture. */
static void take_mosaic(struct demo_bytes *samples, const struct demo_canvas *canvas)
{
    for (int row = 0; row < RAW_SIDE; row++)
        for (int column = 0; column < RAW_SIDE; column++) {
            size_t from_row = (size_t)(row * canvas->height / RAW_SIDE),
                   from_column = (size_t)(column * canvas->width / RAW_SIDE);
            size_t part = (size_t)(row % 2 + column % 2);
            demo_bytes_add_little(
                samples, canvas->pixels[(from_row * (size_t)canvas->width + from_column) * 4 + part] * 257U, 2);
        }
}

void demo_raw_file(struct demo_bytes *out, const struct demo_frame *frame, const struct demo_exposure *exposure,
                   const struct demo_canvas *canvas, const struct demo_bytes *preview, const char *xmp,
                   uint64_t least_bytes, struct demo_random random)
{
    struct demo_ifd exif = {0};
    struct demo_bytes samples = {0};
    demo_tiff_begin(out);
    size_t main_at = write_main(out, frame, exposure, xmp);
    demo_exif_add_exposure(&exif, frame, exposure);
    demo_ifd_set(out, main_at, DEMO_TAG_EXIF, demo_ifd_write(out, &exif));
    size_t raw_at = write_mosaic_ifd(out);
    demo_ifd_set(out, main_at, TAG_SUB_IFD, raw_at);
    take_mosaic(&samples, canvas);
    add_strip(out, raw_at, samples.data, samples.size);
    demo_bytes_finish(&samples);
    add_strip(out, main_at, preview->data, preview->size);
    if (out->size < least_bytes) {
        size_t size = (size_t)least_bytes - out->size;
        demo_random_fill(&random, demo_bytes_grow(out, size), size);
    }
}
