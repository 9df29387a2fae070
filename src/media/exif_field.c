/* SPDX-License-Identifier: ISC */
#include "media/exif_field.h"

#include "media/endian.h"
#include "media/exif_value.h"
#include "media/previews.h"
#include "media/xmp.h"

enum {
    TYPE_BYTE = 1,
    TYPE_ASCII = 2,
    TYPE_SHORT = 3,
    TYPE_LONG = 4,
    TYPE_RATIONAL = 5,
    TYPE_UNDEFINED = 7,
    TYPE_SIGNED_SHORT = 8,
    TYPE_SIGNED_LONG = 9,
    TYPE_SIGNED_RATIONAL = 10,
    TYPE_IFD = 13
};
enum { SUB_IFD_COUNT = 16, TEXT_BYTES = 256, MULTI_SIZE = 16, MULTI_COUNT = 64 };

/* Some writers use the signed types for what is never negative. */
uint32_t hr__exif_number(const struct hr_media_context *context, const unsigned char *bytes)
{
    if (context->count != 1)
        return 0;
    switch (context->type) {
    case TYPE_BYTE:
        return bytes[0];
    case TYPE_SHORT:
    case TYPE_SIGNED_SHORT:
        return hr__read_16(bytes, context->big_endian);
    case TYPE_LONG:
    case TYPE_SIGNED_LONG:
    case TYPE_IFD:
        return hr__read_32(bytes, context->big_endian);
    default:
        return 0;
    }
}

static bool is_text(const struct hr_media_context *context)
{
    return context->type == TYPE_ASCII || context->type == HR_EXIF_UTF8 || context->type == TYPE_BYTE ||
           context->type == TYPE_UNDEFINED;
}

static void set_text(char *text, size_t text_size, const struct hr_media_context *context, const unsigned char *bytes,
                     size_t size)
{
    if (is_text(context) && !text[0])
        hr__exif_text(text, text_size, bytes, size);
}

/* TIFF/EP lets the time stand in the first directory too; the Exif directory knows best. */
static void set_time(struct hr_media_moment *moment, const struct hr_media_context *context, const unsigned char *bytes,
                     size_t size)
{
    int64_t local_time_s = 0;
    if (!is_text(context) || !hr__exif_time(&local_time_s, bytes, size)) {
        moment->is_bad = moment->is_bad || !is_text(context) || !hr__exif_time_is_blank(bytes, size);
    } else if (!moment->has_time || context->level == HR_EXIF_PRIVATE) {
        moment->has_time = true;
        moment->local_time_s = local_time_s;
    }
}

static void set_fraction(struct hr_media_moment *moment, const struct hr_media_context *context,
                         const unsigned char *bytes, size_t size)
{
    if (is_text(context))
        hr__exif_fraction(&moment->fraction_ns, &moment->fraction_digits, bytes, size);
}

static void set_offset(struct hr_media_moment *moment, const struct hr_media_context *context,
                       const unsigned char *bytes, size_t size)
{
    if (is_text(context) && hr__exif_offset(&moment->offset_minutes, bytes, size))
        moment->has_offset = true;
}

#define READER(name)                                                                                                   \
    static void name(struct hr_media_reader *reader, const struct hr_media_context *context,                           \
                     const unsigned char *bytes, size_t size)

READER(read_model)
{
    set_text(reader->facts.model, sizeof reader->facts.model, context, bytes, size);
}

READER(read_serial)
{
    set_text(reader->facts.serial, sizeof reader->facts.serial, context, bytes, size);
}

READER(read_orientation)
{
    (void)size;
    uint32_t orientation = hr__exif_number(context, bytes);
    if (orientation >= 1 && orientation <= 8)
        reader->facts.orientation = (uint8_t)orientation;
}

/* Some writers give further numbers, of which the standard says nothing. */
READER(read_iso)
{
    (void)size;
    struct hr_media_context first = *context;
    first.count = 1;
    if (reader->facts.iso == 0 || context->level == HR_EXIF_PRIVATE)
        reader->facts.iso = hr__exif_number(&first, bytes);
}

/* A time of no seconds, or of endless ones, is none. */
READER(read_exposure)
{
    if ((context->type != TYPE_RATIONAL && context->type != TYPE_SIGNED_RATIONAL) || size != 8)
        return;
    uint32_t numerator = hr__read_32(bytes, context->big_endian);
    uint32_t denominator = hr__read_32(bytes + 4, context->big_endian);
    if (numerator == 0 || denominator == 0 || (reader->facts.exposure_numerator && context->level != HR_EXIF_PRIVATE))
        return;
    reader->facts.exposure_numerator = numerator;
    reader->facts.exposure_denominator = denominator;
}

READER(read_original)
{
    set_time(&reader->original, context, bytes, size);
}

READER(read_digitized)
{
    set_time(&reader->digitized, context, bytes, size);
}

READER(read_original_fraction)
{
    set_fraction(&reader->original, context, bytes, size);
}

READER(read_digitized_fraction)
{
    set_fraction(&reader->digitized, context, bytes, size);
}

READER(read_original_offset)
{
    set_offset(&reader->original, context, bytes, size);
}

READER(read_digitized_offset)
{
    set_offset(&reader->digitized, context, bytes, size);
}

READER(read_width)
{
    (void)size;
    reader->exif.width_pixels = hr__exif_number(context, bytes);
}

READER(read_height)
{
    (void)size;
    reader->exif.height_pixels = hr__exif_number(context, bytes);
}

READER(read_exif_pointer)
{
    (void)size;
    hr__exif_want_directory(reader, context, hr__exif_number(context, bytes), HR_EXIF_PRIVATE);
}

READER(read_sub_pointers)
{
    (void)size;
    if (!context->is_file || (context->type != TYPE_LONG && context->type != TYPE_IFD))
        return;
    for (uint32_t i = 0; i < context->count; i++)
        hr__exif_want_directory(reader, context, hr__read_32(bytes + 4 * (size_t)i, context->big_endian),
                                HR_EXIF_PICTURE);
}

/* MP entries: attributes, size, offset. Those of the class "large thumbnail" are the picture again, smaller. */
READER(read_multi_pictures)
{
    const uint32_t format_mask = 0x07000000, jpeg = 0, class_mask = 0x00ff0000, large_thumbnail = 0x00010000;
    for (; size >= MULTI_SIZE; bytes += MULTI_SIZE, size -= MULTI_SIZE) {
        uint32_t attributes = hr__read_32(bytes, context->big_endian);
        if ((attributes & format_mask) == jpeg && (attributes & class_mask) == large_thumbnail)
            hr__previews_add(reader, context->base + hr__read_32(bytes + 8, context->big_endian),
                             hr__read_32(bytes + 4, context->big_endian));
    }
}

const struct hr_exif_field hr__exif_fields[] = {
    {0x0110, HR_EXIF_FIRST, TEXT_BYTES, read_model},
    {0x0112, HR_EXIF_FIRST, 4, read_orientation},
    {0x014a, HR_EXIF_FIRST, 4 * SUB_IFD_COUNT, read_sub_pointers},
    {0x02bc, HR_EXIF_FIRST, HR_MEDIA_WANT_BYTES, hr__xmp_take},
    {0x829a, HR_EXIF_FIRST | HR_EXIF_PRIVATE, 8, read_exposure},
    {0x8769, HR_EXIF_FIRST, 4, read_exif_pointer},
    {0x8827, HR_EXIF_FIRST | HR_EXIF_PRIVATE, 16, read_iso},
    {0x9003, HR_EXIF_FIRST | HR_EXIF_PRIVATE, TEXT_BYTES, read_original},
    {0x9004, HR_EXIF_FIRST | HR_EXIF_PRIVATE, TEXT_BYTES, read_digitized},
    {0x9011, HR_EXIF_PRIVATE, TEXT_BYTES, read_original_offset},
    {0x9012, HR_EXIF_PRIVATE, TEXT_BYTES, read_digitized_offset},
    {0x9291, HR_EXIF_PRIVATE, TEXT_BYTES, read_original_fraction},
    {0x9292, HR_EXIF_PRIVATE, TEXT_BYTES, read_digitized_fraction},
    {0xa002, HR_EXIF_PRIVATE, 4, read_width},
    {0xa003, HR_EXIF_PRIVATE, 4, read_height},
    {0xa431, HR_EXIF_PRIVATE, TEXT_BYTES, read_serial},
    {0xb002, HR_EXIF_MULTI, MULTI_SIZE *MULTI_COUNT, read_multi_pictures},
};
const uint8_t hr__exif_field_count = sizeof hr__exif_fields / sizeof *hr__exif_fields;
