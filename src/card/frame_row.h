/* SPDX-License-Identifier: ISC */
/* A row of frames.csv: what the head of one delivered file says, so that nobody has to read it again.
 *
 * Columns: path, frame (folder and stem), time_ns (on the camera's own clock, since 1970-01-01 00:00:00 there),
 * resolution_ns (as the time is written: 1000000000 without a fraction), offset_min (east of UTC), serial,
 * maker_serial, model, counter (of the file's name), run_number, drive_mode, rating, protected, iso, exposure_s
 * ("1/2000"), width, height, orientation, previews ("OFFSET+SIZE", joined by ';'), trouble (unknown-kind, cut-short,
 * malformed, bad-time, no-time). What is not known is empty, and so is a time that 64 bits of nanoseconds cannot hold
 * (before 1678, after 2261). Paths, frames and texts are escaped as in <headrace/name.h>. A row of other columns than
 * these is none: its head is read again. */
#ifndef HR_CARD_FRAME_ROW_H
#define HR_CARD_FRAME_ROW_H

#include <headrace/media.h>

#include "base/text.h"

extern const char hr__frame_row_header[]; /* without LF */

struct hr_frame_row {
    const char *path; /* bytes, below data/ */
    bool is_protected;
    struct hr_media_facts facts;
};

/* One line without LF. `out` is broken for a path that cannot be written in 128 KiB. */
void hr__frame_row_append(struct hr_text *out, const struct hr_frame_row *row);
/* `line` is modified; row->path points into it, unescaped. False for a line that is not whole or lies: a field that is
 * no number, out of its range, an escape that is none. */
bool hr__frame_row_parse(struct hr_frame_row *row, char *line);

/* Folder number (100..999) and counter (1..9999) of a DCF path (CIPA DC-009), 0 where the name has none. */
void hr__frame_numbers(uint16_t *folder_number, uint16_t *counter, const char *path);

#endif
