/* SPDX-License-Identifier: ISC */
/* The items of a HEIF file (ISO/IEC 23008-12, ISO/IEC 14496-12 section 8.11): where Exif, XMP and JPEG previews lie,
 * and how large the primary picture is. */
#ifndef HR_MEDIA_HEIF_ITEMS_H
#define HR_MEDIA_HEIF_ITEMS_H

#include "media/media_reader.h"

/* Reads the content of a `meta` box that starts at context->base of the file, and wants what it points to. */
hr_media_take hr__heif_take_meta;

#endif
