/* SPDX-License-Identifier: ISC */
/* What stands in the maker's notes of an Exif block (MakerNote, 0x927C) and in no standard field: the body's serial
 * number, the frame's number within its continuous run, the drive mode. libexif reads the layouts it knows; in notes of
 * any other layout nothing is looked for. */
#ifndef HR_MEDIA_MAKER_NOTES_H
#define HR_MEDIA_MAKER_NOTES_H

#include "media/media_reader.h"

/* The Exif block starts at `base` with its byte order and ends before `end`. Wants its first 64 KiB as one, for offsets
 * in the notes may count from the start of the block. */
void hr__maker_notes_want(struct hr_media_reader *reader, uint64_t base, uint64_t end);

#endif
