/* SPDX-License-Identifier: ISC */
/* Between sequences_svg.c, which lays the timeline out, and timeline_lane.c, which draws a body's lane. */
#ifndef HR_CLI_TIMELINE_H
#define HR_CLI_TIMELINE_H

#include "base/text.h"
#include "cli/sequences_facts.h"

/* Pixels. */
enum { TIMELINE_WIDTH = 1200, TIMELINE_RIGHT = 24, TIMELINE_LANE = 84, TIMELINE_NAME_COLUMNS_MAX = 12 };

/* A run of sequences with no long pause between: one match. */
struct timeline_panel {
    struct hr_text *out;
    const struct sequences_found *found;
    size_t first, count;
    int64_t from_ns, to_ns;
    double most_cadence, cadence_step; /* the same in all panels */
    int left;                          /* where the lanes begin; names stand before it */
    int top, height;                   /* of the lanes */
};

const struct hr_sequence *timeline_sequence(const struct timeline_panel *panel, size_t index);
double timeline_x(const struct timeline_panel *panel, int64_t at_ns);
/* One body's sequences, with its base line at `bottom`. */
void timeline_lane(const struct timeline_panel *panel, uint32_t body, double bottom);
/* A bar of class "held", "full" or "unsure", and the mark of a stall, its tip at x, y. */
void timeline_bar(struct hr_text *out, const char *class, double from, double to, double bottom, double height);
void timeline_mark(struct hr_text *out, double x, double y);

#endif
