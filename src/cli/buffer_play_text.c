/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "cli/bar.h"
#include "cli/buffer_play.h"
#include "cli/plot_scale.h"
#include "cli/progress_pen.h"

enum { GAUGE_LINES_MAX = 40, WAY_COLUMNS_MAX = 42 };
static const double seen_full = 0.9995, warned_at = 0.75, hair_s = 1e-6;

void buffer_play_line(struct cli_output *out, const struct buffer_play *play)
{
    const struct hr_buffer_plan *plan = &play->ways[0].plan;
    char line[128];
    int at = snprintf(line, sizeof line, "%.0f frames in %.1f s: ", plan->frames, buffer_play_seconds(play));
    if (plan->full_at_s < 0)
        snprintf(line + at, sizeof line - (size_t)at, "never full");
    else
        snprintf(line + at, sizeof line - (size_t)at, "full at %.1f s", plan->full_at_s);
    cli_output_painted(out, plan->full_at_s < 0 ? CLI_GOOD : CLI_BAD, line);
    cli_output_append(out, "\n");
}

static void show_advice(struct cli_output *out, const struct buffer_play *play)
{
    const struct hr_buffer_plan *plan = &play->ways[0].plan;
    const char *last = play->hold_count > 1 ? "last hold" : "hold";
    if (plan->last_runs)
        cli_output_printf(out, "the %s runs its length; it begins at %.0f%% full\n", last, 100 * plan->last_fill);
    else if (play->is_too_long)
        cli_output_printf(out, "the %s is %.1f s too long even for an empty buffer\n", last, play->hold_back_s);
    else
        cli_output_printf(out, "hold back %.1f s before the %s, and it runs its length\n", play->hold_back_s, last);
}

/* ---- the gauge ---- */

static void show_moment(struct cli_output *out, const struct hr_buffer_moment *moment, bool blocks)
{
    char bar[BAR_SIZE];
    bool is_full = moment->fill >= seen_full;
    enum cli_paint paint = is_full ? CLI_BAD : moment->fill >= warned_at ? CLI_STRONG : CLI_PLAIN;
    format_bar(bar, moment->fill, BAR_COLUMNS_MAX, blocks);
    cli_output_printf(out, "%6.0f s  ", moment->at_s);
    cli_output_painted(out, paint, bar);
    cli_output_printf(out, "%*s %3.0f%%", BAR_COLUMNS_MAX - pen_width(bar), "", 100 * moment->fill);
    if (moment->per_s > 0)
        cli_output_printf(out, "  %.3g/s", moment->per_s);
    cli_output_append(out, is_full ? "  full" : "");
    cli_output_append(out, "\n");
}

static void show_gauge(struct cli_output *out, const struct buffer_play *play, bool blocks)
{
    double total_s = buffer_play_seconds(play), step_s = plot_clock_step(total_s, GAUGE_LINES_MAX);
    cli_output_append(out, "\n");
    for (int i = 0; i * step_s <= total_s + hair_s; i++) {
        struct hr_buffer_moment moment = buffer_moment_at(&play->ways[0].plan, i * step_s);
        show_moment(out, &moment, blocks);
    }
}

/* ---- the table ---- */

static int widest_name(const struct buffer_play *play)
{
    int widest = 0;
    for (size_t i = 0; i < play->way_count; i++) {
        int width = pen_width(play->ways[i].name);
        widest = width > widest ? width : widest;
    }
    return widest < WAY_COLUMNS_MAX ? widest : WAY_COLUMNS_MAX;
}

static void show_way(struct cli_output *out, const struct buffer_way *way, int width, bool stands_out)
{
    char full[32];
    int room = width - pen_width(way->name);
    snprintf(full, sizeof full, way->plan.full_at_s < 0 ? "never" : "%.1f s", way->plan.full_at_s);
    cli_output_append(out, "  ");
    cli_output_painted(out, stands_out ? CLI_STRONG : CLI_PLAIN, way->name);
    cli_output_printf(out, "%*s %7.0f %9s  %s\n", room > 0 ? room : 0, "", way->plan.frames, full,
                      way->plan.last_runs ? "runs" : "is cut short");
}

void buffer_play_text(struct cli_output *out, const struct buffer_play *play, bool blocks)
{
    int width = widest_name(play);
    buffer_play_line(out, play);
    show_advice(out, play);
    if (play->source[0])
        cli_output_printf(out, "%s\n", play->source);
    show_gauge(out, play, blocks);
    cli_output_printf(out, "\n  %-*s  frames   full at  last hold\n", width, "");
    for (size_t i = 0; i < play->way_count; i++)
        show_way(out, &play->ways[i], width, play->has_best && i + 1 == play->way_count);
}
