/* SPDX-License-Identifier: ISC */
#include "cli/sequences_svg.h"

#include <stdio.h>
#include <string.h>

#include "cli/plot_scale.h"
#include "cli/progress_pen.h"
#include "cli/svg.h"
#include "cli/timeline.h"
#include "cli/when.h"

static const int64_t panel_pause_ns = 3 * 3600 * HR_NS_PER_S;

/* Pixels. */
enum {
    LEFT = 84, /* of all text, and of the lanes when names are one letter */
    TOP = 74,
    HEADING = 46, /* of a panel: job and day, and room for labels over the first lane */
    LANE_APART = 40,
    AXIS = 44,
    LEGEND = 40,
    LETTER = 12,
    PAUSE_WORD = 130, /* room for "pause 16 min 51 s" */
    CADENCE_TICKS_MAX = 3,
    TIME_TICKS_MAX = 14,
};
static const char style[] =
    ".held{fill:#1b5e9e}.full{fill:#d2691e}.mark{fill:#b3290f}.unsure{fill:none;stroke:#1b5e9e}"
    ".pause{fill:#f0f0f0}"
    ".count{font-size:12px;font-weight:bold;text-anchor:middle;stroke:#ffffff;stroke-width:3;paint-order:stroke}";

static bool has_body(const struct timeline_panel *panel, uint32_t body)
{
    for (size_t i = 0; i < panel->count; i++)
        if (timeline_sequence(panel, i)->body == body)
            return true;
    return false;
}

/* ---- what the lanes have in common ---- */

static void put_pauses(const struct timeline_panel *panel)
{
    int64_t latest = sequence_end_local_ns(timeline_sequence(panel, 0));
    for (size_t i = 1; i < panel->count; i++) {
        const struct hr_sequence *sequence = timeline_sequence(panel, i);
        int64_t start = sequence->start_local_ns, end = sequence_end_local_ns(sequence);
        if (sequence_follows_pause(start, latest)) {
            char text[HR_UNIT_TEXT_SIZE], label[2 * HR_UNIT_TEXT_SIZE];
            double from = timeline_x(panel, latest), to = timeline_x(panel, start);
            hr__text_printf(panel->out, "<rect class=\"pause\" x=\"%.1f\" y=\"%d\" width=\"%.1f\" height=\"%d\"/>\n",
                            from, panel->top, to - from, panel->height);
            snprintf(label, sizeof label, "%s%s", to - from > PAUSE_WORD ? "pause " : "",
                     hr__format_duration(text, start - latest));
            svg_text(panel->out, (from + to) / 2, panel->top + panel->height / 2.0 + 4,
                     "text-anchor=\"middle\" class=\"small\"", label);
        }
        latest = end > latest ? end : latest;
    }
}

static void put_time_axis(const struct timeline_panel *panel)
{
    double step_s = plot_clock_step((double)(panel->to_ns - panel->from_ns) / (double)HR_NS_PER_S, TIME_TICKS_MAX);
    int64_t step_ns = (int64_t)step_s * HR_NS_PER_S, bottom = panel->top + panel->height;
    for (int64_t at = panel->from_ns / step_ns * step_ns; at <= panel->to_ns; at += step_ns) {
        char clock[CLI_WHEN_SIZE];
        if (at < panel->from_ns)
            continue;
        cli_when_clock(clock, at);
        if (step_s >= 60)
            clock[5] = '\0'; /* hours and minutes */
        hr__text_printf(panel->out, "<path class=\"grid\" d=\"M%.1f %dV%d\"/>\n", timeline_x(panel, at), panel->top,
                        (int)bottom);
        hr__text_printf(panel->out, "<path class=\"base\" d=\"M%.1f %dv5\"/>\n", timeline_x(panel, at), (int)bottom);
        svg_text(panel->out, timeline_x(panel, at), (double)bottom + 20, "text-anchor=\"middle\" class=\"small\"",
                 clock);
    }
}

static void put_panel(struct timeline_panel *panel)
{
    const struct hr_frame *frame = sequence_frame(panel->found, timeline_sequence(panel, 0), 0);
    char date[CLI_WHEN_SIZE], job[PEN_NAME_SIZE], heading[PEN_NAME_SIZE + CLI_WHEN_SIZE + 2];
    pen_format_name(job, frame->job, PEN_NAME_COLUMNS_MAX);
    cli_when_date(date, timeline_sequence(panel, 0)->start_local_ns);
    bool has_job = *job && strcmp(job, date) != 0;
    snprintf(heading, sizeof heading, "%s%s%s", has_job ? job : "", has_job ? ", " : "", date);
    svg_text(panel->out, LEFT, panel->top - 26, "font-weight=\"bold\"", heading);
    put_time_axis(panel);
    put_pauses(panel);
    int bottom = panel->top;
    for (uint32_t body = 0; body < panel->found->grouping->body_count; body++)
        if (has_body(panel, body))
            timeline_lane(panel, body, bottom += TIMELINE_LANE + (bottom > panel->top ? LANE_APART : 0));
}

/* ---- the picture ---- */

/* From panel->first on up to the next long pause. */
static void measure_panel(struct timeline_panel *panel)
{
    const struct hr_grouping *grouping = panel->found->grouping;
    const struct hr_sequence *first = &grouping->sequences[panel->first];
    int64_t latest = sequence_end_local_ns(first);
    for (panel->count = 1; panel->first + panel->count < grouping->sequence_count; panel->count++) {
        const struct hr_sequence *next = timeline_sequence(panel, panel->count);
        if (next->start_local_ns - latest > panel_pause_ns)
            break;
        int64_t end = sequence_end_local_ns(next);
        latest = end > latest ? end : latest;
    }
    int64_t margin = (latest - first->start_local_ns) / 100 + HR_NS_PER_S;
    panel->from_ns = first->start_local_ns - margin;
    panel->to_ns = latest + margin;
    int lanes = 0;
    for (uint32_t body = 0; body < grouping->body_count; body++)
        lanes += has_body(panel, body);
    panel->height = lanes * (TIMELINE_LANE + LANE_APART) - LANE_APART;
}

static void choose_cadences(struct timeline_panel *panel)
{
    const struct hr_grouping *grouping = panel->found->grouping;
    double most = 1;
    for (size_t i = 0; i < grouping->sequence_count; i++)
        for (size_t k = 0; k < grouping->sequences[i].burst_count; k++)
            if (grouping->sequences[i].bursts[k].cadence_per_s > most)
                most = grouping->sequences[i].bursts[k].cadence_per_s;
    panel->cadence_step = plot_round_step(most, CADENCE_TICKS_MAX);
    panel->most_cadence = most * 1.02;
}

/* Draws one panel after the other where `draw`; gives the height they take. */
static int walk_panels(struct timeline_panel *panel, bool draw)
{
    int height = TOP;
    for (panel->first = 0; panel->first < panel->found->grouping->sequence_count; panel->first += panel->count) {
        measure_panel(panel);
        panel->top = height + HEADING;
        if (draw)
            put_panel(panel);
        height = panel->top + panel->height + AXIS;
    }
    return height;
}

static int widest_name(const struct sequences_found *found)
{
    int widest = 1;
    for (size_t i = 0; i < found->filled->body_count; i++) {
        char name[PEN_NAME_SIZE];
        pen_format_name(name, found->filled->body_names[i], TIMELINE_NAME_COLUMNS_MAX);
        widest = pen_width(name) > widest ? pen_width(name) : widest;
    }
    return widest;
}

static void put_heading(struct hr_text *out, const struct sequences_found *found)
{
    const struct sequences_facts facts = sequences_facts_of(found);
    const struct hr_grouping *grouping = found->grouping;
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE], line[6 * HR_UNIT_TEXT_SIZE];
    snprintf(line, sizeof line, "%s in %s", hr__format_counted(a, found->delivered->frame_count, "frame"),
             hr__format_counted(b, grouping->sequence_count, "sequence"));
    svg_text(out, LEFT, 36, "font-size=\"22\" font-weight=\"bold\"", line);
    int at = snprintf(line, sizeof line, "%s", hr__format_counted(a, grouping->single_count, "single"));
    if (facts.stalled)
        snprintf(line + at, sizeof line - (size_t)at, "; buffer full in %s, about %s lost",
                 hr__format_counted(a, facts.stalled, "sequence"),
                 hr__format_counted(b, (uint64_t)(facts.frames_lost + 0.5), "frame"));
    svg_text(out, LEFT, 60, "", line);
}

static void put_legend(struct hr_text *out, int y)
{
    timeline_bar(out, "held", LEFT, LEFT + 4, y, 12);
    svg_text(out, LEFT + 12, y, "class=\"small\"", "a burst, as high as its cadence");
    timeline_mark(out, LEFT + 240, y - 2);
    timeline_bar(out, "full", LEFT + 248, LEFT + 252, y, 7);
    svg_text(out, LEFT + 260, y, "class=\"small\"", "the buffer was full, and what the card took from there on");
    svg_text(out, LEFT + 648, y, "class=\"count\"", "48");
    svg_text(out, LEFT + 662, y, "class=\"small\"", "frames of the busiest sequences");
}

void sequences_svg(struct hr_text *out, const struct sequences_found *found)
{
    struct timeline_panel panel = {.out = out, .found = found};
    choose_cadences(&panel);
    panel.left = LEFT + (widest_name(found) - 1) * LETTER;
    int height = walk_panels(&panel, false);
    svg_begin(out, TIMELINE_WIDTH, height + LEGEND, style);
    put_heading(out, found);
    walk_panels(&panel, true);
    put_legend(out, height + 16);
    svg_end(out);
}
