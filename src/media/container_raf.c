/* SPDX-License-Identifier: ISC */
/* .raf: a fixed head that points to a JPEG, whose Exif holds the facts. Its layout is seen in files, in no standard. */
#include <string.h>

#include "media/container_jpeg.h"
#include "media/endian.h"
#include "media/media_reader.h"
#include "media/previews.h"

static bool recognises(const unsigned char head[HR_MEDIA_SNIFF_BYTES])
{
    return memcmp(head + 8, "CCD-RAW ", 8) == 0;
}

static void take_pointer(struct hr_media_reader *reader, const struct hr_media_context *context,
                         const unsigned char *bytes, size_t size)
{
    (void)context, (void)size;
    uint64_t offset = hr__read_32(bytes, true), jpeg_size = hr__read_32(bytes + 4, true);
    if (offset >= reader->file_size_bytes || jpeg_size > reader->file_size_bytes - offset) {
        hr__media_lose(reader, HR_MEDIA_CUT_SHORT);
        return;
    }
    hr__previews_add(reader, offset, jpeg_size);
    hr__jpeg_start(reader, offset, offset + jpeg_size, HR_JPEG_IS_PREVIEW);
}

static void start(struct hr_media_reader *reader)
{
    enum { POINTER_AT = 84, POINTER_BYTES = 8 };
    struct hr_media_context context = {0};
    hr__media_want(reader, POINTER_AT, POINTER_BYTES, take_pointer, &context);
}

const struct hr_media_container hr__container_raf = {"raf", recognises, start};
