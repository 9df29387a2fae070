/* SPDX-License-Identifier: ISC */
#include "media/exif_ifd.h"

#include <string.h>

#include "media/endian.h"
#include "media/exif_field.h"
#include "media/maker_notes.h"
#include "media/tiff_picture.h"

enum { HEADER_SIZE = 8, ENTRY_SIZE = 12, ENTRY_COUNT = 1024 };

/* TIFF 6.0 section 2; 13 is IFD (TIFF Technical Note 1), 129 UTF-8 (Exif 3.0). */
static uint32_t type_size(uint16_t type)
{
    static const uint8_t sizes[] = {0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4};
    return type < sizeof sizes ? sizes[type] : type == HR_EXIF_UTF8 ? 1 : 0;
}

static void take_value(struct hr_media_reader *reader, const struct hr_media_context *context,
                       const unsigned char *bytes, size_t size)
{
    hr__exif_fields[context->field].read(reader, context, bytes, size);
}

static void read_entry(struct hr_media_reader *reader, struct hr_media_context context, const unsigned char *entry)
{
    uint16_t tag = hr__read_16(entry, context.big_endian);
    for (uint8_t i = 0; i < hr__exif_field_count; i++) {
        const struct hr_exif_field *field = &hr__exif_fields[i];
        if (field->tag != tag || !(field->directories & context.level))
            continue;
        context.field = i;
        context.type = hr__read_16(entry + 2, context.big_endian);
        context.count = hr__read_32(entry + 4, context.big_endian);
        uint64_t size = (uint64_t)context.count * type_size(context.type);
        uint64_t at = context.base + hr__read_32(entry + 8, context.big_endian);
        if (size == 0 || size > field->max_bytes)
            hr__media_lose(reader, HR_MEDIA_MALFORMED);
        else if (size <= 4)
            take_value(reader, &context, entry + 8, (size_t)size);
        else if (at >= context.end || size > context.end - at)
            hr__media_lose_past(reader, context.end);
        else
            hr__media_want(reader, at, size, take_value, &context);
        return;
    }
}

/* Only pictures stand in a chain. */
static bool is_of_picture(const struct hr_media_context *context)
{
    return context->level == HR_EXIF_FIRST || context->level == HR_EXIF_PICTURE;
}

static void take_next(struct hr_media_reader *reader, const struct hr_media_context *context,
                      const unsigned char *bytes, size_t size)
{
    (void)size;
    hr__exif_want_directory(reader, context, hr__read_32(bytes, context->big_endian), HR_EXIF_PICTURE);
}

static void take_entries(struct hr_media_reader *reader, const struct hr_media_context *context,
                         const unsigned char *bytes, size_t size)
{
    (void)size;
    if (is_of_picture(context))
        hr__tiff_note_picture(reader, context, bytes, context->count);
    for (uint32_t i = 0; i < context->count; i++)
        read_entry(reader, *context, bytes + (size_t)i * ENTRY_SIZE);
}

static void take_count(struct hr_media_reader *reader, const struct hr_media_context *context,
                       const unsigned char *bytes, size_t size)
{
    (void)size;
    struct hr_media_context entries = *context;
    entries.count = hr__read_16(bytes, context->big_endian);
    uint64_t at = context->at + 2, entries_size = (uint64_t)entries.count * ENTRY_SIZE;
    if (entries.count > ENTRY_COUNT) {
        hr__media_lose(reader, HR_MEDIA_MALFORMED);
        return;
    }
    if (entries_size > context->end - at) {
        hr__media_lose_past(reader, context->end);
        return;
    }
    hr__media_want(reader, at, entries_size, take_entries, &entries);
    if (is_of_picture(context) && context->end - at - entries_size >= 4)
        hr__media_want(reader, at + entries_size, 4, take_next, context);
}

void hr__exif_want_directory(struct hr_media_reader *reader, const struct hr_media_context *block, uint32_t offset,
                             enum hr_exif_directory directory)
{
    struct hr_media_context context = *block;
    context.at = block->base + offset;
    context.level = (uint8_t)directory;
    if (offset == 0)
        return;
    if (offset < HEADER_SIZE)
        hr__media_lose(reader, HR_MEDIA_MALFORMED);
    else if (context.at >= block->end || block->end - context.at < 2)
        hr__media_lose_past(reader, block->end);
    else if (hr__media_visit(reader, context.at))
        hr__media_want(reader, context.at, 2, take_count, &context);
}

static void take_header(struct hr_media_reader *reader, const struct hr_media_context *context,
                        const unsigned char *bytes, size_t size)
{
    (void)size;
    struct hr_media_context block = *context;
    block.big_endian = bytes[0] == 'M';
    if (hr__tiff_recognises(bytes))
        hr__exif_want_directory(reader, &block, hr__read_32(bytes + 4, block.big_endian), block.level);
    else
        hr__media_lose(reader, HR_MEDIA_MALFORMED);
}

/* 42 is TIFF; the others stand in its place in raw files that are TIFF else. */
bool hr__tiff_recognises(const unsigned char *head)
{
    static const uint16_t magics[] = {42, 0x0055, 0x4f52, 0x5352};
    if (memcmp(head, "II", 2) != 0 && memcmp(head, "MM", 2) != 0)
        return false;
    uint16_t magic = hr__read_16(head + 2, head[0] == 'M');
    for (size_t i = 0; i < sizeof magics / sizeof *magics; i++)
        if (magic == magics[i])
            return true;
    return false;
}

void hr__exif_start(struct hr_media_reader *reader, uint64_t base, uint64_t end, enum hr_exif_block block)
{
    struct hr_media_context context = {.base = base, .end = end, .is_file = block == HR_EXIF_BLOCK_FILE};
    context.level = block == HR_EXIF_BLOCK_PRIVATE ? HR_EXIF_PRIVATE
                    : block == HR_EXIF_BLOCK_MULTI ? HR_EXIF_MULTI
                                                   : HR_EXIF_FIRST;
    if (end - base < HEADER_SIZE) {
        hr__media_lose_past(reader, end);
        return;
    }
    hr__media_want(reader, base, HEADER_SIZE, take_header, &context);
    if (context.level == HR_EXIF_FIRST)
        hr__maker_notes_want(reader, base, end);
}
