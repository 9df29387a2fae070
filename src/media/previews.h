/* SPDX-License-Identifier: ISC */
/* The smaller JPEGs of a picture within its own file. */
#ifndef HR_MEDIA_PREVIEWS_H
#define HR_MEDIA_PREVIEWS_H

#include "media/media_reader.h"

/* Keeps the largest HR_PREVIEWS_MAX, each once. One that is empty or does not lie within the file is left out. */
void hr__previews_add(struct hr_media_reader *reader, uint64_t offset, uint64_t size_bytes);
/* Leaves out what the file turned out to be too short for. */
void hr__previews_trim(struct hr_media_reader *reader);

#endif
