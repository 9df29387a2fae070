/* SPDX-License-Identifier: ISC */
/* When and where progress is shown: redrawn in place on a terminal, or a line now and then. What is shown is made by
 * progress_draw.h.
 *
 *     if (progress_is_due(&progress, elapsed_ns)) {
 *         draw into &progress.frame, in progress.style;
 *         progress_show(&progress);
 *     }
 */
#ifndef HR_CLI_PROGRESS_H
#define HR_CLI_PROGRESS_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "base/text.h"
#include "cli/progress_draw.h"

extern const char *const progress_mode_choices[];
/* The row of a command that shows progress; `type` is its settings, with an int `progress`. */
#define CLI_PROGRESS_OPTION(type)                                                                                      \
    {                                                                                                                  \
        .name = "progress", .kind = CLI_CHOICE, .at = offsetof(type, progress), .argument = "HOW",                     \
        .choices = progress_mode_choices, .help = "auto, bar, lines or none"                                           \
    }
enum progress_mode { PROGRESS_AUTO = 1, PROGRESS_BAR, PROGRESS_LINES, PROGRESS_NONE };

struct progress {
    FILE *stream;
    enum progress_mode mode; /* never PROGRESS_AUTO */
    struct progress_style style;
    int rows, lines_drawn;
    bool said_stopping;
    int64_t next_ns;
    struct hr_text frame;
    struct hr_text strokes; /* on their way to the stream */
};

/* `choice` of progress_mode_choices, 0 for the default: a bar on a terminal, else nothing. */
void progress_init(struct progress *progress, int choice, bool colour, FILE *stream);
/* Erases what stands on the screen, and frees. */
void progress_finish(struct progress *progress);
/* Erases; a later picture is drawn anew. */
void progress_erase(struct progress *progress);
/* The next job counts its time from 0 again. */
void progress_restart(struct progress *progress);
/* Time for a new picture? Empties the frame if so. */
bool progress_is_due(struct progress *progress, int64_t elapsed_ns);
void progress_show(struct progress *progress);
/* All of that for a reading; `elapsed_ns` is in the view. */
void progress_reading(struct progress *progress, const struct reading_view *view);
/* One line that stays, above the picture. */
HR_PRINTF(2, 3) void progress_note(struct progress *progress, const char *format, ...);
/* The same, once, as soon as the user has asked to stop. */
void progress_note_stop(struct progress *progress, const char *sentence);
/* One line in place of the picture, until the next; only on a terminal. */
void progress_remark(struct progress *progress, const char *what, const char *name);

#endif
