/* SPDX-License-Identifier: ISC */
/* What a directory (TIFF 6.0 section 8, TIFF/EP) says of the picture it describes: its size, and where it lies when it
 * is a JPEG smaller than the file's own picture. */
#ifndef HR_MEDIA_TIFF_PICTURE_H
#define HR_MEDIA_TIFF_PICTURE_H

#include "media/media_reader.h"

/* `entries` are the directory's, `count` of 12 bytes; `context` is that of the directory. */
void hr__tiff_note_picture(struct hr_media_reader *reader, const struct hr_media_context *context,
                           const unsigned char *entries, uint32_t count);

#endif
