/* SPDX-License-Identifier: ISC */
#include "cli/progress_draw.h"

#include <stdio.h>
#include <string.h>

#include "base/units.h"

static uint64_t more_of(uint64_t a, uint64_t b)
{
    return a > b ? a : b;
}

double progress_share(const struct hr_offload_progress *progress)
{
    double done = 0, all = 0;
    for (size_t i = 0; i < progress->place_count; i++) {
        const struct hr_offload_place_progress *place = &progress->places[i];
        if (place->activity == HR_SINK_FAILED)
            continue;
        /* A copy kept from an interrupted run is proven without having been written. */
        done += (double)more_of(place->written_bytes, place->proven_bytes);
        done += (double)more_of(place->read_back_bytes, place->proven_bytes);
        all += 2 * (double)place->total_bytes;
    }
    double share = all > 0 ? done / all : 0;
    return share < 1 ? share : 1;
}

static const char *activity_word(enum hr_sink_activity activity)
{
    static const char *const words[] = {
        [HR_SINK_WAITING] = "waiting", [HR_SINK_WRITING] = "writing", [HR_SINK_READING_BACK] = "reading back",
        [HR_SINK_DONE] = "done",       [HR_SINK_FAILED] = "FAILED",
    };
    return words[activity];
}

/* What it did over the last seconds: a place that keeps up with a slow card waits for it most of the time, and would
 * seem to do nothing whenever one looks. */
static enum hr_sink_activity shown_activity(const struct hr_offload_place_progress *place)
{
    if (place->activity != HR_SINK_WAITING)
        return place->activity;
    return place->write_bytes_per_s > 0       ? HR_SINK_WRITING
           : place->read_back_bytes_per_s > 0 ? HR_SINK_READING_BACK
                                              : HR_SINK_WAITING;
}

static const char *place_word(const struct hr_offload_place_progress *place)
{
    enum hr_sink_activity activity = shown_activity(place);
    bool has_all = place->total_bytes > 0 && place->written_bytes >= place->total_bytes;
    /* It has everything and makes it durable: there is nothing it waits for. */
    return activity == HR_SINK_WAITING && has_all ? "writing out" : activity_word(activity);
}

/* "" for a place that does nothing. */
static char *format_place_rate(char out[HR_UNIT_TEXT_SIZE], const struct hr_offload_place_progress *place)
{
    out[0] = '\0';
    if (shown_activity(place) == HR_SINK_WRITING)
        hr__format_rate(out, place->write_bytes_per_s);
    if (shown_activity(place) == HR_SINK_READING_BACK)
        hr__format_rate(out, place->read_back_bytes_per_s);
    return out;
}

static int longest_place(const struct offload_view *view, int columns)
{
    int longest = 0;
    for (size_t i = 0; i < view->progress->place_count; i++) {
        char name[PEN_NAME_SIZE];
        pen_format_name(name, view->places[i], columns);
        longest = pen_width(name) > longest ? pen_width(name) : longest;
    }
    return longest;
}

static void draw_place(struct pen *pen, const struct hr_offload_place_progress *place, const char *path, int width)
{
    char name[PEN_NAME_SIZE], rate[HR_UNIT_TEXT_SIZE], piece[PEN_PIECE_SIZE];
    pen_format_name(name, path, width);
    hr__text_printf(pen->out, "  %s%*s  ", name, width - pen_width(name), "");
    snprintf(piece, sizeof piece, "%-12s", place_word(place));
    pen_painted(pen, place->activity == HR_SINK_FAILED ? CLI_BAD : CLI_PLAIN, piece);
    hr__text_printf(pen->out, "  %10s", format_place_rate(rate, place));
    if (pen->style->columns >= width + 46 && place->total_bytes)
        hr__text_printf(pen->out, "   %3d%% proven",
                        (int)((double)place->proven_bytes * 100 / (double)place->total_bytes));
    while (pen->out->size && pen->out->bytes[pen->out->size - 1] == ' ')
        pen->out->bytes[--pen->out->size] = '\0';
    pen_end_line(pen);
}

static void draw_counts(struct pen *pen, const struct hr_offload_progress *progress)
{
    char piece[PEN_PIECE_SIZE], rate[HR_UNIT_TEXT_SIZE];
    pen_format_tally(piece, progress->frames_done, progress->frames_total, "frame");
    pen_piece(pen, CLI_PLAIN, piece);
    pen_format_amount(piece, progress->read_bytes, progress->total_bytes);
    pen_piece(pen, CLI_PLAIN, piece);
    if (progress->read_bytes_per_s > 0) {
        snprintf(piece, sizeof piece, "card %s", hr__format_rate(rate, progress->read_bytes_per_s));
        pen_piece(pen, CLI_PLAIN, piece);
    }
    if (progress->failures) {
        snprintf(piece, sizeof piece, "%zu FAILED", progress->failures);
        pen_piece(pen, CLI_BAD, piece);
    }
    pen_end_line(pen);
}

/* One is named in the sentence; several stand behind it. */
static void draw_free_cards(struct pen *pen, const struct offload_view *view)
{
    char name[PEN_NAME_SIZE], piece[PEN_PIECE_SIZE];
    bool is_one = view->free_card_count == 1;
    if (view->free_card_count == 0)
        return;
    pen_format_name(name, view->free_cards[0], pen->style->columns - 27);
    snprintf(piece, sizeof piece, "card %s may leave the reader", name);
    pen_painted(pen, CLI_STRONG, is_one ? piece : "these cards may leave their readers");
    pen_words(pen, CLI_STRONG, is_one ? "- do not format yet" : "- do not format yet:");
    for (size_t i = 0; i < view->free_card_count && !is_one; i++) {
        pen_format_name(name, view->free_cards[i], pen->style->columns);
        pen_words(pen, CLI_STRONG, name);
    }
    pen_end_line(pen);
}

void progress_draw_offload(struct hr_text *out, const struct offload_view *view, const struct progress_style *style)
{
    const struct hr_offload_progress *progress = view->progress;
    struct pen pen = {.out = out, .style = style};
    double share = progress_share(progress);
    char piece[PEN_PIECE_SIZE], left[PEN_LEFT_SIZE], name[PEN_NAME_SIZE];
    snprintf(piece, sizeof piece, "%3d%%", pen_percent(share, progress->files_done, progress->files_total));
    pen_piece(&pen, CLI_STRONG, piece);
    pen_piece(&pen, CLI_STRONG, pen_format_left(left, progress->left_low_ns, progress->left_high_ns));
    pen_format_name(name, view->card, style->columns - 16);
    if (progress->cards_under_way > 1)
        snprintf(piece, sizeof piece, "%zu cards at once, %zu of %zu done", progress->cards_under_way,
                 progress->cards_done, progress->card_count);
    else
        snprintf(piece, sizeof piece, "card %zu of %zu: %s", progress->card + 1, progress->card_count, name);
    pen_piece(&pen, CLI_PLAIN, piece);
    pen_end_line(&pen);
    pen_bar(&pen, share);
    draw_counts(&pen, progress);
    int width = longest_place(view, style->columns - 28);
    for (size_t i = 0; i < progress->place_count; i++)
        draw_place(&pen, &progress->places[i], view->places[i], width);
    draw_free_cards(&pen, view);
}

void progress_draw_offload_line(struct hr_text *out, const struct offload_view *view)
{
    const struct hr_offload_progress *progress = view->progress;
    char frames[PEN_PIECE_SIZE], amount[PEN_PIECE_SIZE], left[PEN_LEFT_SIZE], rate[HR_UNIT_TEXT_SIZE];
    pen_format_tally(frames, progress->frames_done, progress->frames_total, "frame");
    pen_format_amount(amount, progress->read_bytes, progress->total_bytes);
    pen_format_left(left, progress->left_low_ns, progress->left_high_ns);
    hr__text_printf(out, "%d%%, %s, %s%s%s",
                    pen_percent(progress_share(progress), progress->files_done, progress->files_total), frames, amount,
                    *left ? ", " : "", left);
    for (size_t i = 0; i < progress->place_count; i++) {
        const struct hr_offload_place_progress *place = &progress->places[i];
        hr__text_append(out, "; ");
        hr__text_append_name(out, view->places[i], strlen(view->places[i]));
        format_place_rate(rate, place);
        hr__text_printf(out, " %s%s%s", place_word(place), *rate ? " " : "", rate);
    }
}
