/* SPDX-License-Identifier: ISC */
/* Values of Exif fields (CIPA DC-008) from their ASCII form. A value may end early by a NUL and may be padded with
 * blanks; each function answers false, and leaves its results alone, when the value is blank, torn or out of range. */
#ifndef HR_MEDIA_EXIF_VALUE_H
#define HR_MEDIA_EXIF_VALUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* "YYYY:MM:DD HH:MM:SS" as seconds since 1970-01-01 00:00:00 on the same clock. 0000:00:00 is no date. */
bool hr__exif_time(int64_t *local_time_s, const unsigned char *bytes, size_t size);
/* Nothing but blanks, and what stands between the numbers of a time: by the standard it is not known. */
bool hr__exif_time_is_blank(const unsigned char *bytes, size_t size);
/* The digits after the point: "42" is 420 ms, "042" 42 ms. `digits` counts them as written, at most 255; past nine they
 * do not count. */
bool hr__exif_fraction(uint32_t *nanoseconds, uint8_t *digits, const unsigned char *bytes, size_t size);
/* "+HH:MM" or "-HH:MM", within 24 hours. */
bool hr__exif_offset(int16_t *minutes, const unsigned char *bytes, size_t size);
/* A printable text shorter than `out_size`, without blanks at either end, NUL-terminated. */
bool hr__exif_text(char *out, size_t out_size, const unsigned char *bytes, size_t size);

#endif
