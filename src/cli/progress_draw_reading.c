/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include "base/units.h"
#include "cli/progress_draw.h"

/* Before this nothing is promised. */
static const int64_t first_estimate_ns = 2 * HR_NS_PER_S;

struct reading_texts {
    double share;
    char files[PEN_PIECE_SIZE], amount[PEN_PIECE_SIZE], rate[HR_UNIT_TEXT_SIZE], left[PEN_LEFT_SIZE];
};

/* By its pace so far. */
static void format_left(char out[PEN_LEFT_SIZE], const struct reading_view *view, double share)
{
    double left_ns = view->elapsed_ns >= first_estimate_ns && share > 0 && share < 1
                         ? (double)view->elapsed_ns * (1 - share) / share
                         : -1;
    const double most_ns = 1e16;
    left_ns = left_ns < most_ns ? left_ns : most_ns;
    /* Drives slow down towards the end more often than they speed up. */
    pen_format_left(out, (int64_t)(left_ns * 0.9), (int64_t)(left_ns * 1.25));
}

static void describe_reading(struct reading_texts *texts, const struct reading_view *view)
{
    bool has_bytes = view->bytes_total > 0;
    double done = has_bytes ? (double)view->bytes_done : (double)view->files_done;
    double total = has_bytes ? (double)view->bytes_total : (double)view->files_total;
    *texts = (struct reading_texts){.share = total > 0 ? done / total : 0};
    pen_format_tally(texts->files, view->files_done, view->files_total, "file");
    format_left(texts->left, view, texts->share);
    if (!has_bytes)
        return;
    pen_format_amount(texts->amount, view->bytes_done, view->bytes_total);
    hr__format_rate(texts->rate, view->elapsed_ns > 0 ? done * (double)HR_NS_PER_S / (double)view->elapsed_ns : 0);
}

void progress_draw_reading(struct hr_text *out, const struct reading_view *view, const struct progress_style *style)
{
    struct pen pen = {.out = out, .style = style};
    struct reading_texts texts;
    char piece[PEN_PIECE_SIZE], name[PEN_NAME_SIZE];
    describe_reading(&texts, view);
    snprintf(piece, sizeof piece, "%3d%%", pen_percent(texts.share, view->files_done, view->files_total));
    pen_piece(&pen, CLI_STRONG, piece);
    pen_piece(&pen, CLI_STRONG, texts.left);
    pen_format_name(name, view->name, style->columns - pen_width(view->what));
    snprintf(piece, sizeof piece, "%s%s", view->what, name);
    pen_piece(&pen, CLI_PLAIN, piece);
    pen_end_line(&pen);
    pen_bar(&pen, texts.share);
    pen_piece(&pen, CLI_PLAIN, texts.files);
    pen_piece(&pen, CLI_PLAIN, texts.amount);
    pen_piece(&pen, CLI_PLAIN, texts.rate);
    pen_piece(&pen, CLI_PLAIN, view->why);
    pen_end_line(&pen);
}

void progress_draw_reading_line(struct hr_text *out, const struct reading_view *view)
{
    struct reading_texts texts;
    describe_reading(&texts, view);
    hr__text_printf(out, "%d%% of %s", pen_percent(texts.share, view->files_done, view->files_total), view->what);
    hr__text_append_name(out, view->name, strlen(view->name));
    const char *const pieces[] = {texts.files, texts.amount, texts.rate, texts.left};
    for (size_t i = 0; i < sizeof pieces / sizeof *pieces; i++)
        hr__text_printf(out, "%s%s", *pieces[i] ? ", " : "", pieces[i]);
}
