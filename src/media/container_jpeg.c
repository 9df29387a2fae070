/* SPDX-License-Identifier: ISC */
/* JPEG (ITU-T T.81 annex B): segments up to the frame header, with Exif (CIPA DC-008) and XMP (ISO 16684-3) in APP1,
 * and where further pictures lie (CIPA DC-007) in APP2. */
#include "media/container_jpeg.h"

#include <string.h>

#include "media/endian.h"
#include "media/exif_ifd.h"
#include "media/media_reader.h"
#include "media/xmp.h"

#define EXIF_NAME "Exif\0"
#define MULTI_NAME "MPF"
#define XMP_NAME "http://ns.adobe.com/xap/1.0/"

/* Marker and length, and the longest name that tells what an APP1 is. */
enum { MARKER_BYTES = 2, LENGTH_BYTES = 2, PEEK_BYTES = MARKER_BYTES + LENGTH_BYTES + sizeof XMP_NAME };

static hr_media_take take_segment;

static bool recognises(const unsigned char head[HR_MEDIA_SNIFF_BYTES])
{
    return head[0] == 0xff && head[1] == 0xd8 && head[2] == 0xff;
}

static void want_segment(struct hr_media_reader *reader, const struct hr_media_context *jpeg, uint64_t at)
{
    struct hr_media_context context = *jpeg;
    context.at = at;
    if (at >= jpeg->end || jpeg->end - at < MARKER_BYTES + LENGTH_BYTES)
        hr__media_lose_past(reader, jpeg->end);
    else
        hr__media_want(reader, at, jpeg->end - at < PEEK_BYTES ? jpeg->end - at : PEEK_BYTES, take_segment, &context);
}

void hr__jpeg_start(struct hr_media_reader *reader, uint64_t base, uint64_t end, enum hr_jpeg_role role)
{
    struct hr_media_context context = {.base = base, .end = end, .level = (uint8_t)role};
    want_segment(reader, &context, base + MARKER_BYTES);
}

static void start(struct hr_media_reader *reader)
{
    hr__jpeg_start(reader, 0, reader->file_size_bytes, HR_JPEG_IS_PICTURE);
}

static void take_frame(struct hr_media_reader *reader, const struct hr_media_context *context,
                       const unsigned char *bytes, size_t size)
{
    (void)context, (void)size;
    reader->stored.height_pixels = hr__read_16(bytes + 1, true);
    reader->stored.width_pixels = hr__read_16(bytes + 3, true);
}

static bool starts_with(const unsigned char *bytes, size_t size, const char *name, size_t name_size)
{
    return size >= name_size && memcmp(bytes, name, name_size) == 0;
}

/* `name` are the bytes peeked at. */
static void read_app1(struct hr_media_reader *reader, uint64_t at, uint64_t end, const unsigned char *name, size_t size)
{
    if (starts_with(name, size, EXIF_NAME, sizeof EXIF_NAME)) {
        hr__exif_start(reader, at + sizeof EXIF_NAME, end, HR_EXIF_BLOCK_ATTACHED);
    } else if (starts_with(name, size, XMP_NAME, sizeof XMP_NAME)) {
        struct hr_media_context context = {0};
        hr__media_want(reader, at + sizeof XMP_NAME, end - at - sizeof XMP_NAME, hr__xmp_take, &context);
    }
}

static void read_app2(struct hr_media_reader *reader, uint64_t at, uint64_t end, const unsigned char *name, size_t size)
{
    if (starts_with(name, size, MULTI_NAME, sizeof MULTI_NAME))
        hr__exif_start(reader, at + sizeof MULTI_NAME, end, HR_EXIF_BLOCK_MULTI);
}

/* SOF0..SOF15 without DHT, JPG and DAC, which share their range. */
static bool is_frame(unsigned char marker)
{
    return marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 && marker != 0xcc;
}

/* A segment of `length` bytes at `at`, of which `peeked` begin its content. */
static void read_application(struct hr_media_reader *reader, unsigned char marker, uint64_t at, uint64_t length,
                             const unsigned char *content, size_t peeked)
{
    enum { APP1 = 0xe1, APP2 = 0xe2 };
    size_t size = peeked < length - LENGTH_BYTES ? peeked : (size_t)(length - LENGTH_BYTES);
    if (marker == APP1)
        read_app1(reader, at + LENGTH_BYTES, at + length, content, size);
    if (marker == APP2)
        read_app2(reader, at + LENGTH_BYTES, at + length, content, size);
}

static void take_segment(struct hr_media_reader *reader, const struct hr_media_context *context,
                         const unsigned char *bytes, size_t size)
{
    enum { SOS = 0xda, EOI = 0xd9, FILL = 0xff, HEADER_BYTES = MARKER_BYTES + LENGTH_BYTES, FRAME_BYTES = 5 };
    unsigned char marker = bytes[1];
    uint64_t at = context->at + MARKER_BYTES, length = hr__read_16(bytes + MARKER_BYTES, true);
    if (bytes[0] == 0xff && marker == FILL) {
        want_segment(reader, context, context->at + 1);
    } else if (bytes[0] != 0xff || marker == SOS || marker == EOI || length < LENGTH_BYTES) {
        hr__media_lose(reader, HR_MEDIA_MALFORMED);
    } else if (length > context->end - at) {
        hr__media_lose_past(reader, context->end);
    } else if (!is_frame(marker)) {
        read_application(reader, marker, at, length, bytes + HEADER_BYTES, size - HEADER_BYTES);
        want_segment(reader, context, at + length);
    } else if (context->level == HR_JPEG_IS_PICTURE && length >= LENGTH_BYTES + FRAME_BYTES) {
        hr__media_want(reader, at + LENGTH_BYTES, FRAME_BYTES, take_frame, context);
    }
}

const struct hr_media_container hr__container_jpeg = {"jpeg", recognises, start};
