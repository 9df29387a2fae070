/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "base/units.h"
#include "cli/progress_draw.h"

/* Before this nothing is promised. */
static const int64_t first_estimate_ns = 2 * HR_NS_PER_S;

struct verify_texts {
    double share;
    char files[PEN_PIECE_SIZE], amount[PEN_PIECE_SIZE], rate[HR_UNIT_TEXT_SIZE], left[PEN_LEFT_SIZE];
};

static void describe_verify(struct verify_texts *texts, const struct verify_view *view)
{
    double done = (double)view->bytes_done, total = (double)view->bytes_total;
    double bytes_per_s = view->elapsed_ns > 0 ? done * (double)HR_NS_PER_S / (double)view->elapsed_ns : 0;
    double left_ns = view->elapsed_ns >= first_estimate_ns && bytes_per_s > 0 && total > done
                         ? (total - done) / bytes_per_s * (double)HR_NS_PER_S
                         : -1;
    const double most_ns = 1e16;
    texts->share = total > 0 ? done / total : 0;
    pen_format_tally(texts->files, view->files_done, view->files_total, "file");
    pen_format_amount(texts->amount, view->bytes_done, view->bytes_total);
    hr__format_rate(texts->rate, bytes_per_s);
    left_ns = left_ns < most_ns ? left_ns : most_ns;
    /* Drives slow down towards the end more often than they speed up. */
    pen_format_left(texts->left, (int64_t)(left_ns * 0.9), (int64_t)(left_ns * 1.25));
}

void progress_draw_verify(struct hr_text *out, const struct verify_view *view, const struct progress_style *style)
{
    struct pen pen = {.out = out, .style = style};
    struct verify_texts texts;
    char piece[PEN_PIECE_SIZE], name[PEN_NAME_SIZE];
    describe_verify(&texts, view);
    snprintf(piece, sizeof piece, "%3d%%", pen_percent(texts.share, view->files_done, view->files_total));
    pen_piece(&pen, CLI_STRONG, piece);
    pen_piece(&pen, CLI_STRONG, texts.left);
    pen_format_name(name, view->bag, style->columns - 16);
    snprintf(piece, sizeof piece, "bag %zu of %zu: %s", view->number, view->count, name);
    pen_piece(&pen, CLI_PLAIN, piece);
    pen_end_line(&pen);
    pen_bar(&pen, texts.share);
    pen_piece(&pen, CLI_PLAIN, texts.files);
    pen_piece(&pen, CLI_PLAIN, texts.amount);
    pen_piece(&pen, CLI_PLAIN, texts.rate);
    pen_end_line(&pen);
}

void progress_draw_verify_line(struct hr_text *out, const struct verify_view *view)
{
    struct verify_texts texts;
    describe_verify(&texts, view);
    hr__text_printf(out, "%d%% of bag %zu of %zu, %s, %s, %s%s%s",
                    pen_percent(texts.share, view->files_done, view->files_total), view->number, view->count,
                    texts.files, texts.amount, texts.rate, *texts.left ? ", " : "", texts.left);
}
