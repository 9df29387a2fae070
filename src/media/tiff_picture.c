/* SPDX-License-Identifier: ISC */
#include "media/tiff_picture.h"

#include "media/endian.h"
#include "media/exif_field.h"
#include "media/previews.h"

enum { REDUCED = 1, OLD_JPEG = 6, JPEG = 7 };

struct picture {
    uint32_t subfile, width, height, compression;
    uint32_t strip_offset, strip_size; /* 0 when there are several strips */
    uint32_t jpeg_offset, jpeg_size;   /* JPEGInterchangeFormat */
    uint32_t blob_offset, blob_size;
};

static void read_entry(struct picture *picture, const struct hr_media_context *context, const unsigned char *entry)
{
    struct hr_media_context value = *context;
    value.type = hr__read_16(entry + 2, context->big_endian);
    value.count = hr__read_32(entry + 4, context->big_endian);
    const struct {
        uint16_t tag;
        uint32_t *number;
    } fields[] = {{0x00fe, &picture->subfile},     {0x0100, &picture->width},        {0x0101, &picture->height},
                  {0x0103, &picture->compression}, {0x0111, &picture->strip_offset}, {0x0117, &picture->strip_size},
                  {0x0201, &picture->jpeg_offset}, {0x0202, &picture->jpeg_size}};
    uint16_t tag = hr__read_16(entry, context->big_endian);
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
        if (fields[i].tag == tag)
            *fields[i].number = hr__exif_number(&value, entry + 8);
    if (tag == 0x002e) { /* a whole JPEG as a value: seen in .rw2, in no standard */
        picture->blob_offset = hr__read_32(entry + 8, context->big_endian);
        picture->blob_size = value.count;
    }
}

/* The largest that is no reduced copy counts; old-style JPEG compression marks an embedded preview in raws that keep
 * the picture's own size out of their directories. */
static void note_size(struct hr_media_reader *reader, const struct picture *picture)
{
    struct hr_media_size *stored = &reader->stored;
    if ((picture->subfile & REDUCED) || picture->compression == OLD_JPEG ||
        (uint64_t)picture->width * picture->height <= (uint64_t)stored->width_pixels * stored->height_pixels)
        return;
    *stored = (struct hr_media_size){picture->width, picture->height};
}

/* In a later directory that is no reduced copy a strip said to be JPEG holds the raw picture, without loss or not even
 * compressed. */
static bool has_jpeg_strip(const struct picture *picture, bool is_first)
{
    bool is_jpeg = picture->compression == OLD_JPEG || picture->compression == JPEG;
    return is_jpeg && ((picture->subfile & REDUCED) || (is_first && picture->compression == OLD_JPEG));
}

static void note_preview(struct hr_media_reader *reader, uint64_t base, uint32_t offset, uint32_t size)
{
    if (offset > 0)
        hr__previews_add(reader, base + offset, size);
}

void hr__tiff_note_picture(struct hr_media_reader *reader, const struct hr_media_context *context,
                           const unsigned char *entries, uint32_t count)
{
    enum { ENTRY_SIZE = 12 };
    struct picture picture = {0};
    for (uint32_t i = 0; i < count; i++)
        read_entry(&picture, context, entries + (size_t)i * ENTRY_SIZE);
    if (context->is_file)
        note_size(reader, &picture);
    note_preview(reader, context->base, picture.jpeg_offset, picture.jpeg_size);
    note_preview(reader, context->base, picture.blob_offset, picture.blob_size);
    if (has_jpeg_strip(&picture, context->level == HR_EXIF_FIRST))
        note_preview(reader, context->base, picture.strip_offset, picture.strip_size);
}
