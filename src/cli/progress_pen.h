/* SPDX-License-Identifier: ISC */
/* The pen progress is drawn with: it sets pieces side by side and goes to a new line where one does not fit. */
#ifndef HR_CLI_PROGRESS_PEN_H
#define HR_CLI_PROGRESS_PEN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"
#include "cli/cli_output.h"

struct progress_style {
    int columns; /* from 40 */
    bool colour;
};

struct pen {
    struct hr_text *out;
    const struct progress_style *style;
    int used; /* columns of this line */
};

enum {
    PEN_NAME_COLUMNS_MAX = 60,
    PEN_NAME_SIZE = 4 * PEN_NAME_COLUMNS_MAX + 3,
    PEN_PIECE_SIZE = 384,
    PEN_LEFT_SIZE = 64
};

/* Characters, that is bytes that do not continue one. */
int pen_width(const char *text);
void pen_painted(struct pen *pen, enum cli_paint paint, const char *text);
/* As pen_painted, three spaces behind the last piece or on a new line; "" is no piece. */
void pen_piece(struct pen *pen, enum cli_paint paint, const char *text);
/* The same, one space behind. */
void pen_words(struct pen *pen, enum cli_paint paint, const char *text);
void pen_end_line(struct pen *pen);
/* A whole line, filled to `share` of it. */
void pen_bar(struct pen *pen, double share);

/* The escaped name within so many columns; of a long one the end, where paths differ. */
void pen_format_name(char out[PEN_NAME_SIZE], const char *name, int columns);
/* "3 to 4 min left", "about 2 min left", "under 10 s left"; "" when `high_ns` is negative. */
char *pen_format_left(char out[PEN_LEFT_SIZE], int64_t low_ns, int64_t high_ns);
/* "6.52 GB of 13.90 GB" */
void pen_format_amount(char out[PEN_PIECE_SIZE], uint64_t done, uint64_t total);
/* "1,240 of 2,680 frames"; `noun` as for hr__format_counted(). */
void pen_format_tally(char out[PEN_PIECE_SIZE], size_t done, size_t total, const char *noun);
/* 100 only when nothing is left. */
int pen_percent(double share, size_t files_done, size_t files_total);

#endif
