/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "cli/buffer_play.h"
#include "cli/plot_scale.h"
#include "cli/svg.h"

/* Pixels. */
enum {
    WIDTH = 960,
    LEFT = 76,
    RIGHT = 24,
    TOP = 104,
    PANEL = 300,
    AXIS = 44,
    LEGEND_LINE = 26,
    SAMPLE = 56,
    NAMES = 76, /* of the legend */
    FIGURES = 420,
    RATE_WIDTH = 34, /* room for "40/s" */
    BOTTOM = 16,
    TIME_TICKS_MAX = 16
};

/* Told apart without colour, too. */
static const struct look {
    const char *colour, *dash, *width;
} looks[BUFFER_WAYS_MAX] = {
    {"#222222", "none", "3"},       {"#1b5e9e", "9 4", "2.2"},     {"#b3470f", "3 3", "2.2"},
    {"#2e7d32", "12 4 3 4", "2.2"}, {"#7b3fa0", "16 5", "2.2"},    {"#8a6d00", "6 3 2 3 2 3", "2.2"},
    {"#00798c", "2 5", "2.2"},      {"#c2185b", "5 2 5 8", "2.2"},
};

struct picture {
    struct hr_text *out;
    const struct buffer_play *play;
    double most_s;
};

static double x_of(const struct picture *picture, double at_s)
{
    return LEFT + (WIDTH - LEFT - RIGHT) * at_s / picture->most_s;
}

static double y_of(double fill)
{
    return TOP + PANEL * (1 - fill);
}

static void put_holds(const struct picture *picture)
{
    double at_s = 0;
    char rate[24];
    for (size_t i = 0; i < picture->play->hold_count; i++) {
        const struct hr_hold *hold = &picture->play->holds[i];
        double from = x_of(picture, at_s), to = x_of(picture, at_s + hold->hold_s);
        hr__text_printf(picture->out, "<rect class=\"hold\" x=\"%.1f\" y=\"%d\" width=\"%.1f\" height=\"%d\"/>\n", from,
                        TOP, to - from, PANEL);
        snprintf(rate, sizeof rate, "%g/s", hold->per_s);
        if (to - from > RATE_WIDTH)
            svg_text(picture->out, (from + to) / 2, TOP - 8, "text-anchor=\"middle\" class=\"small\"", rate);
        at_s += hold->hold_s + hold->rest_s;
    }
}

static void put_levels(const struct picture *picture)
{
    static const struct {
        double fill;
        const char *class, *label;
    } levels[] = {
        {0, "base", "empty"}, {0.25, "grid", "25%"}, {0.5, "grid", "50%"}, {0.75, "mark", "75%"}, {1, "mark", "full"}};
    for (size_t i = 0; i < sizeof levels / sizeof *levels; i++) {
        hr__text_printf(picture->out, "<path class=\"%s\" d=\"M%d %.1fH%d\"/>\n", levels[i].class, LEFT,
                        y_of(levels[i].fill), WIDTH - RIGHT);
        svg_text(picture->out, LEFT - 10, y_of(levels[i].fill) + 5, "text-anchor=\"end\"", levels[i].label);
    }
}

static void put_time_axis(const struct picture *picture)
{
    double step_s = plot_clock_step(picture->most_s, TIME_TICKS_MAX);
    for (int i = 0; i * step_s <= picture->most_s * 1.001; i++) {
        char label[24];
        snprintf(label, sizeof label, "%g s", i * step_s);
        hr__text_printf(picture->out, "<path class=\"base\" d=\"M%.1f %dv5\"/>\n", x_of(picture, i * step_s),
                        TOP + PANEL);
        svg_text(picture->out, x_of(picture, i * step_s), TOP + PANEL + 21, "text-anchor=\"middle\" class=\"small\"",
                 label);
    }
}

static void put_stroke(struct hr_text *out, const struct look *look)
{
    hr__text_printf(out,
                    "<path fill=\"none\" stroke=\"%s\" stroke-width=\"%s\" stroke-dasharray=\"%s\" "
                    "stroke-linejoin=\"round\" d=\"",
                    look->colour, look->width, look->dash);
}

static void put_line(const struct picture *picture, size_t index)
{
    const struct hr_buffer_plan *plan = &picture->play->ways[index].plan;
    put_stroke(picture->out, &looks[index]);
    for (size_t i = 0; i < plan->moment_count; i++)
        hr__text_printf(picture->out, "%c%.1f %.1f", i ? 'L' : 'M', x_of(picture, plan->timeline[i].at_s),
                        y_of(plan->timeline[i].fill));
    hr__text_append(picture->out, "\"/>\n");
}

static void put_legend(const struct picture *picture, size_t index)
{
    const struct buffer_way *way = &picture->play->ways[index];
    double y = TOP + PANEL + AXIS + (double)index * LEGEND_LINE + 10;
    char figures[96], full[32];
    snprintf(full, sizeof full, way->plan.full_at_s < 0 ? "never full" : "full at %.1f s", way->plan.full_at_s);
    snprintf(figures, sizeof figures, "%.0f frames, %s%s", way->plan.frames, full,
             way->plan.last_runs ? "" : ", last hold cut short");
    put_stroke(picture->out, &looks[index]);
    hr__text_printf(picture->out, "M%d %.1fh%d\"/>\n", LEFT, y - 5, SAMPLE);
    svg_text(picture->out, LEFT + NAMES, y, index ? "" : "font-weight=\"bold\"", way->name);
    svg_text(picture->out, LEFT + FIGURES, y, index ? "" : "font-weight=\"bold\"", figures);
}

static void put_heading(const struct picture *picture)
{
    const struct buffer_play *play = picture->play;
    const struct hr_buffer_plan *plan = &play->ways[0].plan;
    char line[160];
    int at = snprintf(line, sizeof line, "%.0f frames in %.1f s, ", plan->frames, picture->most_s);
    snprintf(line + at, sizeof line - (size_t)at, plan->full_at_s < 0 ? "never full" : "full at %.1f s",
             plan->full_at_s);
    svg_text(picture->out, LEFT, 40, "font-size=\"24\" font-weight=\"bold\"", line);
    snprintf(line, sizeof line,
             "Fill of a buffer %.1f frames deep that the card drains by %.1f a second; grey: shutter held",
             play->buffer.depth_frames, play->buffer.drain_per_s);
    svg_text(picture->out, LEFT, 68, "", line);
}

void buffer_play_svg(struct hr_text *out, const struct buffer_play *play)
{
    struct picture picture = {.out = out, .play = play, .most_s = buffer_play_seconds(play)};
    svg_begin(out, WIDTH, TOP + PANEL + AXIS + (int)play->way_count * LEGEND_LINE + BOTTOM,
              ".hold{fill:#ececec}.mark{stroke:#b3290f;stroke-dasharray:2 4;fill:none}");
    put_heading(&picture);
    put_holds(&picture);
    put_levels(&picture);
    put_time_axis(&picture);
    for (size_t i = play->way_count; i-- > 0;)
        put_line(&picture, i);
    for (size_t i = 0; i < play->way_count; i++)
        put_legend(&picture, i);
    svg_end(out);
}
