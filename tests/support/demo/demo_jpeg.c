/* SPDX-License-Identifier: ISC */
#include "demo_jpeg.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include "demo_fail.h"

enum { MARKER_SOS = 0xDA, MARKER_APP1 = 0xE1, MARKER_APP10 = 0xEA, LONGEST_SEGMENT = 65535 };

static void fail(j_common_ptr info)
{
    char text[JMSG_LENGTH_MAX];
    info->err->format_message(info, text);
    demo_fail("JPEG encoder: %s", text);
}

static void write_rows(struct jpeg_compress_struct *encoder, const struct demo_canvas *canvas)
{
    while (encoder->next_scanline < encoder->image_height) {
        JSAMPROW row = canvas->pixels + (size_t)encoder->next_scanline * (size_t)canvas->width * 4;
        jpeg_write_scanlines(encoder, &row, 1);
    }
}

void demo_jpeg_encode(struct demo_bytes *out, const struct demo_canvas *canvas, int quality)
{
    struct jpeg_compress_struct encoder = {0};
    struct jpeg_error_mgr errors = {0};
    unsigned char *data = NULL;
    unsigned long size = 0;
    encoder.err = jpeg_std_error(&errors);
    errors.error_exit = fail;
    jpeg_create_compress(&encoder);
    jpeg_mem_dest(&encoder, &data, &size);
    encoder.image_width = (JDIMENSION)canvas->width;
    encoder.image_height = (JDIMENSION)canvas->height;
    encoder.input_components = 4;
    encoder.in_color_space = JCS_EXT_RGBX;
    jpeg_set_defaults(&encoder);
    jpeg_set_quality(&encoder, quality, TRUE);
    encoder.write_JFIF_header = FALSE;
    encoder.dct_method = JDCT_IFAST;
    jpeg_start_compress(&encoder, TRUE);
    write_rows(&encoder, canvas);
    jpeg_finish_compress(&encoder);
    demo_bytes_add(out, data, size);
    free(data);
    jpeg_destroy_compress(&encoder);
}

/* Where the scan header begins. The stream comes from the encoder above, so its segments are sound. */
static size_t find_scan(const struct demo_bytes *stream)
{
    size_t at = 2;
    while (stream->data[at + 1] != MARKER_SOS)
        at += 2 + ((size_t)stream->data[at + 2] << 8 | stream->data[at + 3]);
    return at;
}

static void add_segment(struct demo_bytes *out, unsigned marker, const char *name, size_t name_size, const void *data,
                        size_t size)
{
    if (2 + name_size + size > LONGEST_SEGMENT)
        demo_fail("metadata does not fit a JPEG segment");
    demo_bytes_add_big(out, 0xFF00U | marker, 2);
    demo_bytes_add_big(out, 2 + name_size + size, 2);
    demo_bytes_add(out, name, name_size);
    demo_bytes_add(out, data, size);
}

/* Exactly `size` bytes of nothing: segments, then fill bytes for what is too short for one. */
static void add_padding(struct demo_bytes *out, uint64_t size, struct demo_random random)
{
    while (size >= 4) {
        size_t length = size - 2 < LONGEST_SEGMENT ? (size_t)size - 2 : LONGEST_SEGMENT;
        demo_bytes_add_big(out, 0xFF00U | MARKER_APP10, 2);
        demo_bytes_add_big(out, length, 2);
        demo_random_fill(&random, demo_bytes_grow(out, length - 2), length - 2);
        size -= length + 2;
    }
    memset(demo_bytes_grow(out, (size_t)size), 0xFF, (size_t)size);
}

void demo_jpeg_file(struct demo_bytes *out, const struct demo_bytes *stream, const struct demo_bytes *exif,
                    const char *xmp, uint64_t least_bytes, struct demo_random random)
{
    static const char exif_name[] = "Exif\0", xmp_name[] = "http://ns.adobe.com/xap/1.0/";
    size_t scan = find_scan(stream), before = out->size;
    demo_bytes_add(out, stream->data, 2);
    add_segment(out, MARKER_APP1, exif_name, sizeof exif_name, exif->data, exif->size);
    if (*xmp)
        add_segment(out, MARKER_APP1, xmp_name, sizeof xmp_name, xmp, strlen(xmp));
    demo_bytes_add(out, stream->data + 2, scan - 2);
    uint64_t size = out->size - before + (stream->size - scan);
    if (size < least_bytes)
        add_padding(out, least_bytes - size, random);
    demo_bytes_add(out, stream->data + scan, stream->size - scan);
}
