/* SPDX-License-Identifier: ISC */
/* What a running job looks like: facts in, text out. Nothing here knows a terminal or a clock. */
#ifndef HR_CLI_PROGRESS_DRAW_H
#define HR_CLI_PROGRESS_DRAW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/offload.h>

#include "base/text.h"
#include "cli/progress_pen.h"

struct offload_view {
    const struct hr_offload_progress *progress;
    const char *card;                     /* path of the first under way */
    const char *free_cards[HR_CARDS_MAX]; /* paths of those that may leave their readers */
    size_t free_card_count;
    const char *const *places; /* paths, progress->place_count of them */
};
/* A few lines, each ended by LF. */
void progress_draw_offload(struct hr_text *out, const struct offload_view *view, const struct progress_style *style);
/* The same in one line without LF, for a log. */
void progress_draw_offload_line(struct hr_text *out, const struct offload_view *view);

/* Files being read, of a bag by verify or of a card that is looked at. */
struct reading_view {
    const char *what; /* "bag 2 of 5: ", a few columns */
    const char *name; /* path */
    const char *why;  /* at most 40 columns; "": it goes without saying */
    int64_t elapsed_ns;
    uint64_t bytes_done, bytes_total; /* total 0: files alone are counted */
    size_t files_done, files_total;
};
void progress_draw_reading(struct hr_text *out, const struct reading_view *view, const struct progress_style *style);
void progress_draw_reading_line(struct hr_text *out, const struct reading_view *view);

/* How much of the work, writing and reading back in every place that still works, is behind us: 0..1. */
double progress_share(const struct hr_offload_progress *progress);

#endif
