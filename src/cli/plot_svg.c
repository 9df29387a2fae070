/* SPDX-License-Identifier: ISC */
#include "cli/plot_svg.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/units.h"
#include "cli/plot_scale.h"
#include "cli/progress_pen.h"
#include "cli/svg.h"
#include "cli/when.h"

/* Pixels. */
enum {
    WIDTH = 960,
    LEFT = 84,
    RIGHT = 208, /* labels stand here */
    TOP = 92,
    PANEL = 108,
    GAP = 40,
    BOTTOM = 40,
    LABEL_APART = 40,
    BUCKETS_MAX = 320,
    RATE_TICKS_MAX = 4,
    TIME_TICKS_MAX = 10,
    JOB_COLUMNS = 40,
    HEADING_CEILING_BYTES = 4096,
};

static const struct look {
    const char *colour, *dash, *word;
} looks[HISTORY_STAGE_COUNT] = {
    [HISTORY_CARD] = {"#222222", "none", "read"},
    [HISTORY_WRITE] = {"#1b5e9e", "none", "write"},
    [HISTORY_READ_BACK] = {"#b3470f", "7 3", "read back"},
};

struct plot {
    struct hr_text *out;
    const struct run_history *history;
    double most_rate, rate_step; /* bytes a second */
    double most_s, time_step_s;
    int panel_top;
};

static double x_of(const struct plot *plot, int64_t at_ns)
{
    return LEFT + (WIDTH - LEFT - RIGHT) * (double)at_ns / (double)HR_NS_PER_S / plot->most_s;
}

static double y_of(const struct plot *plot, double rate)
{
    double share = rate < plot->most_rate ? rate / plot->most_rate : 1;
    return plot->panel_top + PANEL * (1 - share);
}

static bool is_drawn(const struct history_lane *lane)
{
    return lane->stage != HISTORY_DIGEST && lane->bytes > 0;
}

/* Some neighbouring points as one, so that a long run stays a small file. */
static struct history_point bucket_at(const struct history_lane *lane, size_t *at)
{
    size_t size = lane->point_count / BUCKETS_MAX + 1;
    struct history_point bucket = lane->points[*at];
    for (size_t i = 1; i < size && *at + i < lane->point_count; i++) {
        bucket.to_ns = lane->points[*at + i].to_ns;
        bucket.bytes += lane->points[*at + i].bytes;
    }
    *at += size;
    return bucket;
}

/* Up from the base where it begins to move, from step to step, down where it stops. */
static void put_steps(const struct plot *plot, const struct history_lane *lane)
{
    double base = plot->panel_top + PANEL;
    int64_t drawn_to_ns = -1;
    bool is_up = false;
    for (size_t at = 0; at < lane->point_count;) {
        struct history_point bucket = bucket_at(lane, &at);
        double from = x_of(plot, bucket.from_ns > 0 ? bucket.from_ns : 0), to = x_of(plot, bucket.to_ns);
        if (is_up && (bucket.bytes == 0 || bucket.from_ns > drawn_to_ns)) {
            hr__text_printf(plot->out, "V%.1f", base);
            is_up = false;
        }
        if (bucket.bytes && !is_up)
            hr__text_printf(plot->out, "M%.1f %.1f", from, base);
        if (bucket.bytes) {
            hr__text_printf(plot->out, "V%.1fH%.1f", y_of(plot, history_rate(&bucket)), to);
            is_up = true;
            drawn_to_ns = bucket.to_ns;
        }
    }
    if (is_up)
        hr__text_printf(plot->out, "V%.1f", base);
}

static void put_line(const struct plot *plot, const struct history_lane *lane)
{
    const struct look *look = &looks[lane->stage];
    bool is_slowest = lane == plot->history->slowest;
    hr__text_printf(plot->out,
                    "<path fill=\"%s\" fill-opacity=\"0.14\" stroke=\"%s\" stroke-width=\"%s\" "
                    "stroke-dasharray=\"%s\" stroke-linejoin=\"round\" d=\"",
                    is_slowest ? look->colour : "none", look->colour, is_slowest ? "2.4" : "1.6", look->dash);
    put_steps(plot, lane);
    hr__text_append(plot->out, "\"/>\n");
}

/* Where the line stands last: its last whole second, else its mean. */
static void end_of_line(double *x, double *y, const struct plot *plot, const struct history_lane *lane)
{
    *x = LEFT;
    *y = y_of(plot, lane->mean_bytes_per_s);
    for (size_t at = 0; at < lane->point_count;) {
        struct history_point bucket = bucket_at(lane, &at);
        if (bucket.bytes == 0)
            continue;
        *x = x_of(plot, bucket.to_ns);
        *y = y_of(plot, history_rate(&bucket));
    }
}

static void put_label(const struct plot *plot, const struct history_lane *lane, double y)
{
    const struct look *look = &looks[lane->stage];
    bool is_slowest = lane == plot->history->slowest;
    double x = WIDTH - RIGHT + 14, line_x, line_y;
    char head[64], facts[3 * HR_UNIT_TEXT_SIZE], mean[HR_UNIT_TEXT_SIZE], peak[HR_UNIT_TEXT_SIZE], attributes[96];
    end_of_line(&line_x, &line_y, plot, lane);
    hr__text_printf(plot->out, "<path class=\"leader\" d=\"M%.1f %.1fL%.1f %.1f\"/>\n", line_x, line_y, x - 2, y);
    hr__text_printf(plot->out,
                    "<path stroke=\"%s\" stroke-width=\"%s\" stroke-dasharray=\"%s\" d=\"M%.1f %.1fh26\"/>\n",
                    look->colour, is_slowest ? "2.4" : "1.6", look->dash, x, y);
    snprintf(head, sizeof head, "%s %s", look->word, hr__format_rate(mean, lane->mean_bytes_per_s));
    snprintf(attributes, sizeof attributes, "fill=\"%s\" font-weight=\"%s\"", look->colour,
             is_slowest ? "bold" : "normal");
    svg_text(plot->out, x + 32, y + 4, attributes, head);
    snprintf(facts, sizeof facts, "mean; peak %s", hr__format_rate(peak, lane->peak_bytes_per_s));
    svg_text(plot->out, x + 32, y + 19, "class=\"small\"", facts);
}

/* At the height of the lines' ends, but apart and within the panel. */
static void put_labels(const struct plot *plot, const struct history_lane *const *lanes, size_t count)
{
    double x, y[2] = {0}, low = plot->panel_top + 4, high = plot->panel_top + PANEL - 18;
    for (size_t i = 0; i < count; i++) {
        end_of_line(&x, &y[i], plot, lanes[i]);
        y[i] = y[i] < low ? low : y[i] > high ? high : y[i];
    }
    size_t upper = count == 2 && y[1] < y[0], lower = 1 - upper;
    if (count == 2 && y[lower] - y[upper] < LABEL_APART) {
        double middle = (y[0] + y[1]) / 2;
        double room = LABEL_APART / 2.0;
        middle = middle < low + room ? low + room : middle > high - room ? high - room : middle;
        y[upper] = middle - room;
        y[lower] = middle + room;
    }
    for (size_t i = 0; i < count; i++)
        put_label(plot, lanes[i], y[i]);
}

static void put_rate_axis(const struct plot *plot)
{
    char label[HR_UNIT_TEXT_SIZE];
    for (int i = 0; i * plot->rate_step <= plot->most_rate * 1.001; i++) {
        double rate = i * plot->rate_step, y = y_of(plot, rate);
        hr__text_printf(plot->out, "<path class=\"%s\" d=\"M%d %.1fH%d\"/>\n", i ? "grid" : "base", LEFT, y,
                        WIDTH - RIGHT);
        snprintf(label, sizeof label, "%.4g%s", rate / 1e6,
                 (i + 1) * plot->rate_step > plot->most_rate * 1.001 ? " MB/s" : "");
        svg_text(plot->out, LEFT - 8, y + 4, "text-anchor=\"end\" class=\"small\"", label);
    }
}

static void put_time_grid(const struct plot *plot)
{
    for (int i = 1; i * plot->time_step_s <= plot->most_s * 1.001; i++)
        hr__text_printf(plot->out, "<path class=\"grid\" d=\"M%.1f %dv%d\"/>\n",
                        x_of(plot, (int64_t)(i * plot->time_step_s * (double)HR_NS_PER_S)), plot->panel_top, PANEL);
}

static void put_time_axis(const struct plot *plot)
{
    double bottom = plot->panel_top + PANEL;
    for (int i = 0; i * plot->time_step_s <= plot->most_s * 1.001; i++) {
        double seconds = i * plot->time_step_s, x = x_of(plot, (int64_t)(seconds * (double)HR_NS_PER_S));
        double unit = plot->time_step_s < 60 ? 1 : plot->time_step_s < 3600 ? 60 : 3600;
        char label[HR_UNIT_TEXT_SIZE];
        snprintf(label, sizeof label, "%.4g %s", seconds / unit, unit < 60 ? "s" : unit < 3600 ? "min" : "h");
        hr__text_printf(plot->out, "<path class=\"base\" d=\"M%.1f %.1fv5\"/>\n", x, bottom);
        svg_text(plot->out, x, bottom + 19, "text-anchor=\"middle\" class=\"small\"", label);
    }
}

static void put_panel(const struct plot *plot, const char *name, const struct history_lane *const *lanes, size_t count)
{
    char shown[PEN_NAME_SIZE];
    pen_format_name(shown, name, PEN_NAME_COLUMNS_MAX);
    put_time_grid(plot);
    put_rate_axis(plot);
    svg_text(plot->out, LEFT, plot->panel_top - 10, "font-weight=\"bold\"", shown);
    for (size_t i = 0; i < count; i++)
        put_line(plot, lanes[i]);
    put_labels(plot, lanes, count);
}

/* Cards first, then each place; a panel with nothing to show stays empty and says so. */
static void put_panels(struct plot *plot)
{
    const struct run_history *history = plot->history;
    const char *cards = strchr(history->run.cards, '\n') ? "cards" : "card";
    for (size_t panel = 0; panel <= history->place_count; panel++) {
        const struct history_lane *lanes[2];
        size_t count = 0;
        for (size_t i = 0; i < history->lane_count; i++) {
            const struct history_lane *lane = &history->lanes[i];
            size_t wanted = lane->stage == HISTORY_CARD ? 0 : lane->place + 1;
            if (is_drawn(lane) && wanted == panel && count < 2)
                lanes[count++] = lane;
        }
        put_panel(plot, panel ? history->places[panel - 1] : cards, lanes, count);
        if (count == 0)
            svg_text(plot->out, LEFT + 12, plot->panel_top + PANEL / 2.0, "class=\"small\"", "nothing moved here");
        if (panel < history->place_count)
            plot->panel_top += PANEL + GAP;
    }
}

static void put_heading(const struct plot *plot)
{
    const struct run_history *history = plot->history;
    char job[PEN_NAME_SIZE], when[CLI_WHEN_SIZE], bytes[HR_UNIT_TEXT_SIZE], time[HR_UNIT_TEXT_SIZE];
    struct hr_text line;
    hr__text_init(&line, HEADING_CEILING_BYTES);
    hr__text_append(&line, history->slowest ? "Held up by " : "Too short to tell what held it up");
    history_describe_slowest(&line, history);
    svg_text(plot->out, LEFT, 34, "font-size=\"20\" font-weight=\"bold\"", line.bytes);
    plot->out->broken |= line.broken;
    hr__text_clear(&line);
    pen_format_name(job, history->run.job, JOB_COLUMNS);
    hr__text_printf(&line, "%s, run %" PRId64 ", %s: %s in %s, %s", job, history->run.id,
                    cli_when_local(when, history->run.started_wall_ns), hr__format_bytes(bytes, history->run.bytes),
                    hr__format_duration(time, history->end_ns),
                    *history->run.outcome ? history->run.outcome : "not ended");
    svg_text(plot->out, LEFT, 56, "", line.bytes);
    plot->out->broken |= line.broken;
    hr__text_finish(&line);
}

static void choose_scale(struct plot *plot)
{
    const struct run_history *history = plot->history;
    double most = 0;
    for (size_t i = 0; i < history->lane_count; i++)
        if (is_drawn(&history->lanes[i]) && history->lanes[i].peak_bytes_per_s > most)
            most = history->lanes[i].peak_bytes_per_s;
    plot->rate_step = most > 0 ? plot_round_step(most, RATE_TICKS_MAX) : 1e6;
    plot->most_rate = plot->rate_step;
    while (plot->most_rate < most)
        plot->most_rate += plot->rate_step;
    plot->most_s = history->end_ns > 0 ? (double)history->end_ns / (double)HR_NS_PER_S : 1;
    plot->time_step_s = plot_clock_step(plot->most_s, TIME_TICKS_MAX);
}

void plot_svg(struct hr_text *out, const struct run_history *history)
{
    struct plot plot = {.out = out, .history = history, .panel_top = TOP + 8};
    int height = TOP + 8 + (int)(history->place_count + 1) * (PANEL + GAP) - GAP + BOTTOM;
    choose_scale(&plot);
    svg_begin(out, WIDTH, height, ".leader{stroke:#aaaaaa;stroke-dasharray:1 3;fill:none}");
    put_heading(&plot);
    put_panels(&plot);
    put_time_axis(&plot);
    svg_end(out);
}
