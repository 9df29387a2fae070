/* SPDX-License-Identifier: ISC */
#include "cli/progress.h"

#include <stdarg.h>
#include <string.h>

#include "base/units.h"
#include "platform/terminal.h"

const char *const progress_mode_choices[] = {"auto", "bar", "lines", "none", NULL};

enum { COLUMNS_MIN = 40, FRAME_CEILING_BYTES = 64 * 1024 };

static const int64_t bar_every_ns = HR_NS_PER_S / 5, line_every_ns = 5 * HR_NS_PER_S;

static void ask_size(struct progress *progress)
{
    int columns = 0;
    hr__terminal_size(&columns, &progress->rows, progress->stream);
    progress->style.columns = columns > COLUMNS_MIN ? columns : COLUMNS_MIN;
}

void progress_init(struct progress *progress, int choice, FILE *stream)
{
    enum progress_mode mode = choice ? (enum progress_mode)choice : PROGRESS_AUTO;
    if (mode == PROGRESS_AUTO)
        mode = hr__terminal_can_move(stream) ? PROGRESS_BAR : PROGRESS_NONE;
    *progress = (struct progress){.stream = stream, .mode = mode};
    progress->style.colour = hr__terminal_has_colour(stream);
    hr__text_init(&progress->frame, FRAME_CEILING_BYTES);
    ask_size(progress);
}

/* Back to the first line of the picture. */
static void go_home(struct progress *progress)
{
    if (progress->lines_drawn)
        fprintf(progress->stream, "\033[%dA\r", progress->lines_drawn);
    progress->lines_drawn = 0;
}

void progress_erase(struct progress *progress)
{
    if (progress->lines_drawn) {
        go_home(progress);
        fputs("\033[J", progress->stream);
        fflush(progress->stream);
    }
}

void progress_restart(struct progress *progress)
{
    progress->next_ns = 0;
}

/* Lines run off the edge rather than wrap, else the way home would be wrong; so no more of them than fit the screen. */
static void put_picture(struct progress *progress)
{
    go_home(progress);
    fputs("\033[?7l", progress->stream);
    const char *line = progress->frame.bytes;
    while (*line && progress->lines_drawn < progress->rows - 1) {
        size_t size = strcspn(line, "\n");
        fprintf(progress->stream, "%.*s\033[K\n", (int)size, line);
        progress->lines_drawn++;
        line += size + (line[size] == '\n');
    }
    fputs("\033[J\033[?7h", progress->stream);
    fflush(progress->stream);
}

void progress_finish(struct progress *progress)
{
    progress_erase(progress);
    hr__text_finish(&progress->frame);
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
    if (progress->mode == PROGRESS_BAR) {
        put_picture(progress);
    } else {
        fprintf(progress->stream, "%s\n", progress->frame.bytes);
        fflush(progress->stream);
    }
}

void progress_note(struct progress *progress, const char *format, ...)
{
    bool was_drawn = progress->lines_drawn > 0;
    progress_erase(progress);
    va_list arguments;
    va_start(arguments, format);
    vfprintf(progress->stream, format, arguments);
    va_end(arguments);
    fputc('\n', progress->stream);
    if (was_drawn)
        put_picture(progress);
    fflush(progress->stream);
}

void progress_remark(struct progress *progress, const char *what, const char *name)
{
    if (progress->mode != PROGRESS_BAR)
        return;
    hr__text_clear(&progress->frame);
    hr__text_append(&progress->frame, what);
    hr__text_append_name(&progress->frame, name, strlen(name));
    put_picture(progress);
}
