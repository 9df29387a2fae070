/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "cli/progress_pen.h"
#include "cli/svg.h"
#include "cli/timeline.h"

/* Pixels; a lane has so many labels at most. */
enum { LABEL_APART = 30, LABELS_MAX = 6 };
static const double bar_least = 3;

const struct hr_sequence *timeline_sequence(const struct timeline_panel *panel, size_t index)
{
    return &panel->found->grouping->sequences[panel->first + index];
}

double timeline_x(const struct timeline_panel *panel, int64_t at_ns)
{
    return panel->left + (TIMELINE_WIDTH - panel->left - TIMELINE_RIGHT) * (double)(at_ns - panel->from_ns) /
                             (double)(panel->to_ns - panel->from_ns);
}

static double height_of(const struct timeline_panel *panel, double cadence)
{
    return TIMELINE_LANE * cadence / panel->most_cadence;
}

/* Frames after the first stand where their stamps are, seen from the sequence's start. */
static int64_t frame_at_ns(const struct timeline_panel *panel, const struct hr_sequence *sequence, uint32_t index)
{
    return sequence->start_local_ns + sequence_frame(panel->found, sequence, index)->local_ns -
           sequence_frame(panel->found, sequence, 0)->local_ns;
}

/* ---- bursts ---- */

void timeline_bar(struct hr_text *out, const char *class, double from, double to, double bottom, double height)
{
    double width = to - from > bar_least ? to - from : bar_least;
    hr__text_printf(out, "<rect class=\"%s\" x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\"/>\n", class, from,
                    bottom - height, width, height);
}

void timeline_mark(struct hr_text *out, double x, double y)
{
    hr__text_printf(out, "<path class=\"mark\" d=\"M%.1f %.1fl-5 -9h10z\"/>\n", x, y);
}

static void put_burst(const struct timeline_panel *panel, const struct hr_sequence *sequence,
                      const struct hr_burst *burst, double bottom)
{
    double from = timeline_x(panel, frame_at_ns(panel, sequence, burst->first));
    double to = timeline_x(panel, frame_at_ns(panel, sequence, burst->last));
    double height = height_of(panel, burst->cadence_per_s);
    if (burst->cadence_per_s <= 0) {
        timeline_bar(panel->out, "unsure", from, to, bottom, TIMELINE_LANE / 4.0);
        return;
    }
    double full = burst->has_stall ? timeline_x(panel, frame_at_ns(panel, sequence, burst->stall.frame)) : to;
    timeline_bar(panel->out, "held", from, full, bottom, height);
    if (!burst->has_stall)
        return;
    full = full > from + bar_least ? full : from + bar_least;
    timeline_bar(panel->out, "full", full, to, bottom, height_of(panel, burst->stall.drain_cadence_per_s));
    timeline_mark(panel->out, full, bottom - height - 2);
}

/* ---- labels of the busiest ---- */

/* The busiest of the body that has no label yet and whose label would stand apart from those that have; count: none. */
static size_t next_to_label(const struct timeline_panel *panel, uint32_t body, const double *taken, size_t taken_count)
{
    size_t best = panel->count;
    for (size_t i = 0; i < panel->count; i++) {
        const struct hr_sequence *sequence = timeline_sequence(panel, i);
        double x = timeline_x(panel, sequence->start_local_ns);
        bool is_free = sequence->body == body;
        for (size_t k = 0; k < taken_count && is_free; k++)
            is_free = x - taken[k] > LABEL_APART || taken[k] - x > LABEL_APART;
        if (is_free && (best == panel->count || sequence->frame_count > timeline_sequence(panel, best)->frame_count))
            best = i;
    }
    return best;
}

static void put_labels(const struct timeline_panel *panel, uint32_t body, double bottom)
{
    double taken[LABELS_MAX];
    for (size_t count = 0; count < LABELS_MAX; count++) {
        size_t at = next_to_label(panel, body, taken, count);
        if (at == panel->count)
            return;
        const struct hr_sequence *sequence = timeline_sequence(panel, at);
        double height = height_of(panel, sequence_main_burst(sequence)->cadence_per_s);
        char label[HR_UNIT_TEXT_SIZE];
        snprintf(label, sizeof label, "%zu", sequence->frame_count);
        taken[count] = timeline_x(panel, sequence->start_local_ns);
        svg_text(panel->out, taken[count], bottom - height - (sequence_worst_stall(sequence) ? 15 : 5),
                 "class=\"count\"", label);
    }
}

/* ---- a lane ---- */

static void put_cadence_axis(const struct timeline_panel *panel, double bottom)
{
    char label[HR_UNIT_TEXT_SIZE];
    for (int i = 0; i * panel->cadence_step <= panel->most_cadence * 1.001; i++) {
        double y = bottom - height_of(panel, i * panel->cadence_step);
        hr__text_printf(panel->out, "<path class=\"%s\" d=\"M%d %.1fH%d\"/>\n", i ? "grid" : "base", panel->left, y,
                        TIMELINE_WIDTH - TIMELINE_RIGHT);
        snprintf(label, sizeof label, "%g/s", i * panel->cadence_step);
        if (i)
            svg_text(panel->out, panel->left - 8, y + 4, "text-anchor=\"end\" class=\"small\"", label);
    }
}

void timeline_lane(const struct timeline_panel *panel, uint32_t body, double bottom)
{
    char name[PEN_NAME_SIZE];
    pen_format_name(name, panel->found->filled->body_names[body], TIMELINE_NAME_COLUMNS_MAX);
    put_cadence_axis(panel, bottom);
    svg_text(panel->out, 16, bottom - TIMELINE_LANE / 2.0 + 7, "font-size=\"20\" font-weight=\"bold\"", name);
    for (size_t i = 0; i < panel->count; i++) {
        const struct hr_sequence *sequence = timeline_sequence(panel, i);
        for (size_t k = 0; k < sequence->burst_count && sequence->body == body; k++)
            put_burst(panel, sequence, &sequence->bursts[k], bottom);
    }
    put_labels(panel, body, bottom);
}
