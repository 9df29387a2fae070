/* SPDX-License-Identifier: ISC */
#include "cli/progress_pen.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include <headrace/name.h>

#include "base/units.h"

enum { BAR_COLUMNS_MAX = 100 };

int pen_width(const char *text)
{
    int width = 0;
    for (; *text; text++)
        width += ((unsigned char)*text & 0xC0) != 0x80;
    return width;
}

void pen_end_line(struct pen *pen)
{
    if (pen->used)
        hr__text_append(pen->out, "\n");
    pen->used = 0;
}

void pen_painted(struct pen *pen, enum cli_paint paint, const char *text)
{
    bool painted = pen->style->colour && paint != CLI_PLAIN;
    if (painted)
        hr__text_append(pen->out, cli_paint_sequence(paint));
    hr__text_append(pen->out, text);
    if (painted)
        hr__text_append(pen->out, cli_paint_sequence(CLI_PLAIN));
    pen->used += pen_width(text);
}

static void put_behind(struct pen *pen, const char *gap, enum cli_paint paint, const char *text)
{
    if (*text && pen->used && pen->used + pen_width(gap) + pen_width(text) > pen->style->columns)
        pen_end_line(pen);
    if (*text && pen->used)
        pen_painted(pen, CLI_PLAIN, gap);
    pen_painted(pen, paint, text);
}

void pen_piece(struct pen *pen, enum cli_paint paint, const char *text)
{
    put_behind(pen, "   ", paint, text);
}

void pen_words(struct pen *pen, enum cli_paint paint, const char *text)
{
    put_behind(pen, " ", paint, text);
}

void pen_format_name(char out[PEN_NAME_SIZE], const char *name, int columns)
{
    char whole[1024];
    const char *from = whole;
    columns = columns < PEN_NAME_COLUMNS_MAX ? columns : PEN_NAME_COLUMNS_MAX;
    hr_escape_name(whole, sizeof whole, name, strlen(name));
    int surplus = pen_width(whole) - columns;
    for (int skip = surplus > 0 ? surplus + 2 : 0; skip > 0; skip--)
        do
            from++;
        while (((unsigned char)*from & 0xC0) == 0x80);
    snprintf(out, PEN_NAME_SIZE, "%s%.*s", surplus > 0 ? ".." : "", 4 * PEN_NAME_COLUMNS_MAX, from);
}

void pen_bar(struct pen *pen, double share)
{
    int columns = pen->style->columns < BAR_COLUMNS_MAX ? pen->style->columns : BAR_COLUMNS_MAX;
    int cells = columns - 2, full = (int)(share * cells);
    bool solid = pen->style->colour;
    hr__text_printf(pen->out, "[%s", solid ? "\033[7m" : "");
    for (int i = 0; i < full; i++)
        hr__text_append(pen->out, solid ? " " : "#");
    hr__text_append(pen->out, solid ? cli_paint_sequence(CLI_PLAIN) : "");
    for (int i = full; i < cells; i++)
        hr__text_append(pen->out, ".");
    hr__text_append(pen->out, "]\n");
}

static int64_t round_down(int64_t value, int64_t step)
{
    return value / step * step;
}

static int64_t round_up(int64_t value, int64_t step)
{
    return round_down(value + step - 1, step);
}

char *pen_format_left(char out[PEN_LEFT_SIZE], int64_t low_ns, int64_t high_ns)
{
    int64_t unit_s = high_ns <= 60 * HR_NS_PER_S ? 1 : high_ns <= 7200 * HR_NS_PER_S ? 60 : 3600;
    int64_t step_ns = (unit_s == 1 ? 5 : unit_s) * HR_NS_PER_S;
    const char *unit = unit_s == 1 ? "s" : unit_s == 60 ? "min" : "h";
    int64_t low = round_down(low_ns > 0 ? low_ns : 0, step_ns) / HR_NS_PER_S / unit_s;
    int64_t high = round_up(high_ns > 0 ? high_ns : 1, step_ns) / HR_NS_PER_S / unit_s;
    if (high_ns < 0)
        out[0] = '\0';
    else if (low == 0)
        snprintf(out, PEN_LEFT_SIZE, "under %" PRId64 " %s left", high, unit);
    else if (low >= high)
        snprintf(out, PEN_LEFT_SIZE, "about %" PRId64 " %s left", high, unit);
    else
        snprintf(out, PEN_LEFT_SIZE, "%" PRId64 " to %" PRId64 " %s left", low, high, unit);
    return out;
}

/* 100 only when nothing is left. */
int pen_percent(double share, size_t files_done, size_t files_total)
{
    int percent = (int)(share * 100);
    return percent > 99 && files_done < files_total ? 99 : percent;
}

void pen_format_amount(char out[PEN_PIECE_SIZE], uint64_t done, uint64_t total)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE];
    snprintf(out, PEN_PIECE_SIZE, "%s of %s", hr__format_bytes(a, done), hr__format_bytes(b, total));
}

void pen_format_tally(char out[PEN_PIECE_SIZE], size_t done, size_t total, const char *noun)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE];
    snprintf(out, PEN_PIECE_SIZE, "%s of %s", hr__format_count(a, done), hr__format_counted(b, total, noun));
}
