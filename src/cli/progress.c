/* SPDX-License-Identifier: ISC */
#include "cli/progress.h"

#include <stdarg.h>
#include <string.h>

#include "base/units.h"
#include "platform/terminal.h"

const char *const progress_mode_choices[] = {"auto", "bar", "lines", "none", NULL};

enum { COLUMNS_MIN = 40, FRAME_CEILING_BYTES = 64 * 1024, NOTE_SIZE = 20 * HR_FAULT_TEXT_SIZE };

static const int64_t bar_every_ns = HR_NS_PER_S / 5, line_every_ns = 5 * HR_NS_PER_S;

static void ask_size(struct progress *progress)
{
    int columns = 0;
    hr__terminal_size(&columns, &progress->rows, progress->stream);
    progress->style.columns = columns > COLUMNS_MIN ? columns : COLUMNS_MIN;
}

void progress_init(struct progress *progress, int choice, bool colour, FILE *stream)
{
    enum progress_mode mode = choice ? (enum progress_mode)choice : PROGRESS_AUTO;
    if (mode == PROGRESS_AUTO)
        mode = hr__terminal_can_move(stream) ? PROGRESS_BAR : PROGRESS_NONE;
    *progress = (struct progress){.stream = stream, .mode = mode, .style = {.colour = colour}};
    hr__text_init(&progress->frame, FRAME_CEILING_BYTES);
    hr__text_init(&progress->strokes, 2 * FRAME_CEILING_BYTES);
    ask_size(progress);
}

/* What goes to the screen goes in one write: stderr has no buffer of its own, and half a picture would flicker. */
static void put_strokes(struct progress *progress)
{
    fwrite(progress->strokes.bytes, 1, progress->strokes.size, progress->stream);
    fflush(progress->stream);
    hr__text_clear(&progress->strokes);
}

static void wipe(struct progress *progress)
{
    hr__text_append(&progress->strokes, progress->lines_drawn ? "\r\033[J" : "");
    progress->lines_drawn = 0;
}

void progress_erase(struct progress *progress)
{
    wipe(progress);
    put_strokes(progress);
}

void progress_restart(struct progress *progress)
{
    progress->next_ns = 0;
}

/* Lines run off the edge rather than wrap, and there are no more of them than fit the screen. Each is erased before it
 * is written: behind a full one the cursor still stands on the last character. At the end it goes back to the first
 * line: a terminal that is made narrower breaks lines anew, so that nobody could count the way up later, but the cursor
 * stays on its line. */
static void draw_picture(struct progress *progress)
{
    const char *line = progress->frame.bytes;
    progress->lines_drawn = 0;
    hr__text_append(&progress->strokes, "\r\033[?7l");
    while (*line && progress->lines_drawn < progress->rows - 1) {
        size_t size = strcspn(line, "\n");
        hr__text_append(&progress->strokes, "\033[K");
        hr__text_append_bytes(&progress->strokes, line, size);
        hr__text_append(&progress->strokes, "\n");
        progress->lines_drawn++;
        line += size + (line[size] == '\n');
    }
    hr__text_append(&progress->strokes, "\033[J\033[?7h");
    if (progress->lines_drawn)
        hr__text_printf(&progress->strokes, "\033[%dA", progress->lines_drawn);
}

void progress_finish(struct progress *progress)
{
    progress_erase(progress);
    hr__text_finish(&progress->frame);
    hr__text_finish(&progress->strokes);
}

bool progress_is_due(struct progress *progress, int64_t elapsed_ns)
{
    if (progress->mode == PROGRESS_NONE || elapsed_ns < progress->next_ns)
        return false;
    progress->next_ns = elapsed_ns + (progress->mode == PROGRESS_BAR ? bar_every_ns : line_every_ns);
    hr__text_clear(&progress->frame);
    if (progress->mode == PROGRESS_BAR)
        ask_size(progress);
    return true;
}

void progress_show(struct progress *progress)
{
    if (progress->mode == PROGRESS_BAR)
        draw_picture(progress);
    else
        hr__text_printf(&progress->strokes, "%s\n", progress->frame.bytes);
    put_strokes(progress);
}

void progress_reading(struct progress *progress, const struct reading_view *view)
{
    if (!progress_is_due(progress, view->elapsed_ns))
        return;
    if (progress->mode == PROGRESS_BAR)
        progress_draw_reading(&progress->frame, view, &progress->style);
    else
        progress_draw_reading_line(&progress->frame, view);
    progress_show(progress);
}

void progress_note(struct progress *progress, const char *format, ...)
{
    char text[NOTE_SIZE]; /* that there is no memory must be said without any */
    bool was_drawn = progress->lines_drawn > 0;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    wipe(progress);
    hr__text_printf(&progress->strokes, "%s\n", text);
    if (progress->strokes.broken)
        fprintf(progress->stream, "%s\n", text);
    if (was_drawn)
        draw_picture(progress);
    put_strokes(progress);
}

void progress_note_stop(struct progress *progress, const char *sentence)
{
    if (hr__interrupt_caught() && !progress->said_stopping)
        progress_note(progress, "headrace: %s", sentence);
    progress->said_stopping = hr__interrupt_caught() != 0;
}

void progress_remark(struct progress *progress, const char *what, const char *name)
{
    if (progress->mode != PROGRESS_BAR)
        return;
    hr__text_clear(&progress->frame);
    hr__text_append(&progress->frame, what);
    hr__text_append_name(&progress->frame, name, strlen(name));
    draw_picture(progress);
    put_strokes(progress);
}
