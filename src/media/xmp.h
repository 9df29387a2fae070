/* SPDX-License-Identifier: ISC */
/* What an XMP packet (ISO 16684-1) says: xmp:Rating, as attribute or element of the packet's own description. */
#ifndef HR_MEDIA_XMP_H
#define HR_MEDIA_XMP_H

#include <stdbool.h>
#include <stddef.h>

#include "media/media_reader.h"

/* Sets facts->rating when the packet has one that the standard allows, else leaves it. A torn packet gives what stands
 * before the tear; one with a document type is not read at all. */
void hr__xmp_read(struct hr_media_facts *facts, const unsigned char *bytes, size_t size);

/* The same for a packet that a container wanted. */
hr_media_take hr__xmp_take;

/* "4", "-1", " 3.5 ": rounded towards zero, then -1..5. */
bool hr__xmp_rating(int8_t *out, const char *text, size_t size);

#endif
