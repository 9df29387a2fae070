/* SPDX-License-Identifier: ISC */
/* ISO base media files (ISO/IEC 14496-12) and their ancestor: HEIF pictures (.hif .heic), raws (.cr3), clips (.mov
 * .mp4). */
#include <string.h>

#include "media/endian.h"
#include "media/exif_ifd.h"
#include "media/heif_items.h"
#include "media/media_reader.h"
#include "media/previews.h"
#include "media/xmp.h"

enum { HEADER_SIZE = 8, UUID_SIZE = 16, PEEK_BYTES = HEADER_SIZE + 8 + UUID_SIZE };

/* The boxes that are looked into. */
enum level { TOP, MOVIE, TRACK, RAW_UUID, RAW_PREVIEW };

static hr_media_take take_box, take_movie_header, take_track_header, take_preview, take_thumbnail;

static void want_box(struct hr_media_reader *reader, uint64_t at, uint64_t end, enum level level)
{
    struct hr_media_context context = {.at = at, .end = end, .level = (uint8_t)level};
    if (at < end && end - at >= HEADER_SIZE)
        hr__media_want(reader, at, end - at < PEEK_BYTES ? end - at : PEEK_BYTES, take_box, &context);
}

static bool recognises(const unsigned char head[HR_MEDIA_SNIFF_BYTES])
{
    static const char types[][5] = {"ftyp", "moov", "mdat", "wide", "free", "skip"};
    for (size_t i = 0; i < sizeof types / sizeof *types; i++)
        if (memcmp(head + 4, types[i], 4) == 0)
            return true;
    return false;
}

static void start(struct hr_media_reader *reader)
{
    want_box(reader, 0, reader->file_size_bytes, TOP);
}

/* Seconds since 1904, by the standard in UTC, by habit on the camera's clock: so the offset stays unknown. 0 is "not
 * set". */
static void take_movie_header(struct hr_media_reader *reader, const struct hr_media_context *context,
                              const unsigned char *bytes, size_t size)
{
    const uint64_t seconds_1904_to_1970 = 2082844800, year_10000 = 253402300800;
    (void)context, (void)size;
    uint64_t seconds = bytes[0] == 1 ? hr__read_64_big(bytes + 4) : hr__read_32(bytes + 4, true);
    if (seconds < seconds_1904_to_1970 || seconds >= seconds_1904_to_1970 + year_10000) {
        reader->recorded.is_bad = seconds != 0;
        return;
    }
    reader->recorded.has_time = true;
    reader->recorded.local_time_s = (int64_t)(seconds - seconds_1904_to_1970);
}

/* The first track with a size is the picture; the numbers are 16.16 fixed point. */
static void take_track_header(struct hr_media_reader *reader, const struct hr_media_context *context,
                              const unsigned char *bytes, size_t size)
{
    (void)context;
    size_t at = bytes[0] == 1 ? 88 : 76;
    if (size < at + 8)
        return;
    struct hr_media_size track = {hr__read_32(bytes + at, true) >> 16, hr__read_32(bytes + at + 4, true) >> 16};
    if (reader->stored.width_pixels == 0 && track.width_pixels > 0 && track.height_pixels > 0)
        reader->stored = track;
}

/* Both boxes of a .cr3 begin with 16 bytes, in which the size stands at different places, and go on with the JPEG. */
enum { PREVIEW_HEAD_BYTES = 16 };

static void add_preview(struct hr_media_reader *reader, const struct hr_media_context *box, uint32_t size)
{
    if (size <= box->end - box->base - PREVIEW_HEAD_BYTES)
        hr__previews_add(reader, box->base + PREVIEW_HEAD_BYTES, size);
}

static void take_preview(struct hr_media_reader *reader, const struct hr_media_context *context,
                         const unsigned char *bytes, size_t size)
{
    if (size == PREVIEW_HEAD_BYTES)
        add_preview(reader, context, hr__read_32(bytes + 12, true));
}

static void take_thumbnail(struct hr_media_reader *reader, const struct hr_media_context *context,
                           const unsigned char *bytes, size_t size)
{
    if (size == PREVIEW_HEAD_BYTES)
        add_preview(reader, context, hr__read_32(bytes + 8, true));
}

struct box {
    uint64_t content, end;
};

static void want_content(struct hr_media_reader *reader, struct box box, uint64_t max, hr_media_take *take)
{
    struct hr_media_context context = {.base = box.content, .end = box.end};
    uint64_t size = box.end - box.content;
    hr__media_want(reader, box.content, size < max ? size : max, take, &context);
}

static void read_movie(struct hr_media_reader *reader, struct box box)
{
    want_box(reader, box.content, box.end, MOVIE);
}

static void read_track(struct hr_media_reader *reader, struct box box)
{
    want_box(reader, box.content, box.end, TRACK);
}

static void read_raw_uuid(struct hr_media_reader *reader, struct box box)
{
    want_box(reader, box.content, box.end, RAW_UUID);
}

static void read_movie_header(struct hr_media_reader *reader, struct box box)
{
    enum { VERSION_AND_CREATION = 12 };
    if (box.end - box.content >= VERSION_AND_CREATION)
        want_content(reader, box, VERSION_AND_CREATION, take_movie_header);
}

static void read_track_header(struct hr_media_reader *reader, struct box box)
{
    enum { HEADER_WITH_64_BIT_TIMES = 96 };
    want_content(reader, box, HEADER_WITH_64_BIT_TIMES, take_track_header);
}

static void read_items(struct hr_media_reader *reader, struct box box)
{
    want_content(reader, box, UINT64_MAX, hr__heif_take_meta);
}

static void read_xmp(struct hr_media_reader *reader, struct box box)
{
    want_content(reader, box, UINT64_MAX, hr__xmp_take);
}

static void read_first_exif(struct hr_media_reader *reader, struct box box)
{
    hr__exif_start(reader, box.content, box.end, HR_EXIF_BLOCK_ATTACHED);
}

static void read_private_exif(struct hr_media_reader *reader, struct box box)
{
    hr__exif_start(reader, box.content, box.end, HR_EXIF_BLOCK_PRIVATE);
}

/* 8 bytes stand before the box within. */
static void read_preview_uuid(struct hr_media_reader *reader, struct box box)
{
    want_box(reader, box.content + 8, box.end, RAW_PREVIEW);
}

static void read_preview(struct hr_media_reader *reader, struct box box)
{
    want_content(reader, box, PREVIEW_HEAD_BYTES, take_preview);
}

static void read_thumbnail(struct hr_media_reader *reader, struct box box)
{
    want_content(reader, box, PREVIEW_HEAD_BYTES, take_thumbnail);
}

static const struct {
    enum level level;
    char type[5];
    const char *uuid;
    void (*read)(struct hr_media_reader *reader, struct box box);
} boxes[] = {
    {TOP, "meta", NULL, read_items},
    {TOP, "moov", NULL, read_movie},
    /* XMP in ISO base media: ISO 16684-3 */
    {TOP, "uuid", "\xbe\x7a\xcf\xcb\x97\xa9\x42\xe8\x9c\x71\x99\x94\x91\xe3\xaf\xac", read_xmp},
    {MOVIE, "mvhd", NULL, read_movie_header},
    {MOVIE, "trak", NULL, read_track},
    {TRACK, "tkhd", NULL, read_track_header},
    /* .cr3 keeps its TIFF blocks and previews here: seen in files, in no standard */
    {MOVIE, "uuid", "\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48", read_raw_uuid},
    {RAW_UUID, "CMT1", NULL, read_first_exif},
    {RAW_UUID, "CMT2", NULL, read_private_exif},
    {RAW_UUID, "THMB", NULL, read_thumbnail},
    {TOP, "uuid", "\xea\xf4\x2b\x5e\x1c\x98\x4b\x88\xb9\xfb\xb7\xdc\x40\x6e\x4d\x16", read_preview_uuid},
    {RAW_PREVIEW, "PRVW", NULL, read_preview},
};

static void read_box(struct hr_media_reader *reader, enum level level, const unsigned char *type,
                     const unsigned char *uuid, struct box box)
{
    for (size_t i = 0; i < sizeof boxes / sizeof *boxes; i++)
        if (boxes[i].level == level && memcmp(boxes[i].type, type, 4) == 0 &&
            (!boxes[i].uuid || (uuid && memcmp(boxes[i].uuid, uuid, UUID_SIZE) == 0))) {
            boxes[i].read(reader, box);
            return;
        }
}

static void take_box(struct hr_media_reader *reader, const struct hr_media_context *context, const unsigned char *bytes,
                     size_t size)
{
    const unsigned char *uuid = NULL;
    uint64_t box_size = hr__read_32(bytes, true), header_size = HEADER_SIZE, to_end = context->end - context->at;
    if (box_size == 1 && size >= HEADER_SIZE + 8) {
        box_size = hr__read_64_big(bytes + HEADER_SIZE);
        header_size += 8;
    } else if (box_size == 0) {
        box_size = to_end;
    }
    if (memcmp(bytes + 4, "uuid", 4) == 0 && size >= header_size + UUID_SIZE) {
        uuid = bytes + header_size;
        header_size += UUID_SIZE;
    }
    if (box_size < header_size) {
        hr__media_lose(reader, HR_MEDIA_MALFORMED);
        return;
    }
    if (box_size > to_end)
        hr__media_lose_past(reader, context->end);
    uint64_t inside = box_size < to_end ? box_size : to_end;
    if (inside > header_size)
        read_box(reader, (enum level)context->level, bytes + 4, uuid,
                 (struct box){context->at + header_size, context->at + inside});
    if (box_size < to_end)
        want_box(reader, context->at + box_size, context->end, (enum level)context->level);
}

const struct hr_media_container hr__container_bmff = {"bmff", recognises, start};
