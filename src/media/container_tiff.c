/* SPDX-License-Identifier: ISC */
/* TIFF and the raw formats that are TIFF: .dng .nef .arw .pef .cr2 .rw2 and others. */
#include "media/exif_ifd.h"
#include "media/media_reader.h"

static void start(struct hr_media_reader *reader)
{
    reader->exif_size_is_stored = true;
    hr__exif_start(reader, 0, reader->file_size_bytes, HR_EXIF_BLOCK_FILE);
}

const struct hr_media_container hr__container_tiff = {"tiff", hr__tiff_recognises, start};
