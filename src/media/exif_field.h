/* SPDX-License-Identifier: ISC */
/* The table of Exif and TIFF fields that carry facts (CIPA DC-008, TIFF 6.0, TIFF/EP), each with what is done with its
 * value. */
#ifndef HR_MEDIA_EXIF_FIELD_H
#define HR_MEDIA_EXIF_FIELD_H

#include "media/exif_ifd.h"

enum { HR_EXIF_UTF8 = 129 };

struct hr_exif_field {
    uint16_t tag;
    uint8_t directories; /* enum hr_exif_directory, or-ed: where it may stand */
    uint32_t max_bytes;  /* a longer value is not believed */
    hr_media_take *read; /* `context` has type, count and directory of the value */
};
extern const struct hr_exif_field hr__exif_fields[];
extern const uint8_t hr__exif_field_count;

/* The single unsigned number that `bytes` (at least 4) hold as `context` says; 0 when it is none. */
uint32_t hr__exif_number(const struct hr_media_context *context, const unsigned char *bytes);

#endif
