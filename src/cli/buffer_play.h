/* SPDX-License-Identifier: ISC */
/* A play, run through in every way that is compared, and how it is shown. */
#ifndef HR_CLI_BUFFER_PLAY_H
#define HR_CLI_BUFFER_PLAY_H

#include <headrace/buffer.h>

#include "base/text.h"
#include "cli/buffer_memory.h"
#include "cli/cli_output.h"
#include "cli/json_writer.h"

enum { BUFFER_WAYS_MAX = 8, BUFFER_WAY_NAME_SIZE = 320 };

/* One way to shoot the play. */
struct buffer_way {
    char name[BUFFER_WAY_NAME_SIZE]; /* fit to be shown */
    struct hr_buffer buffer;
    struct hr_easing easings[HR_EASINGS_MAX];
    size_t easing_count;
    struct hr_buffer_plan plan;
};

/* Zeroed, `buffer` and the holds filled in; then buffer_play_add for each way, the first of which is doing nothing;
 * then buffer_play_run, then show; buffer_play_finish in any case. */
struct buffer_play {
    struct hr_buffer buffer;
    char source[BUFFER_SOURCE_SIZE]; /* of the buffer; "": it was typed */
    struct hr_hold holds[HR_HOLDS_MAX];
    size_t hold_count;
    struct buffer_way ways[BUFFER_WAYS_MAX];
    size_t way_count;
    bool has_best;      /* the last of the ways is the best single step */
    double hold_back_s; /* before the last hold; see is_too_long */
    bool is_too_long;   /* the last hold itself, and by hold_back_s */
};

/* The next way, to be filled in before it is run; its buffer is the play's. HR_INVALID when there are too many. */
HR_MUST_USE enum hr_status buffer_play_add(struct buffer_way **out, struct buffer_play *play, struct hr_fault *fault);
HR_MUST_USE enum hr_status buffer_play_run(struct buffer_play *play, struct hr_fault *fault);
void buffer_play_finish(struct buffer_play *play);

double buffer_play_seconds(const struct buffer_play *play);
/* The moment that `at_s` falls into, with the fill then. */
struct hr_buffer_moment buffer_moment_at(const struct hr_buffer_plan *plan, double at_s);

void buffer_play_text(struct cli_output *out, const struct buffer_play *play, bool blocks);
/* Its first line. */
void buffer_play_line(struct cli_output *out, const struct buffer_play *play);
void buffer_play_json(struct json_writer *json, const struct buffer_play *play);
void buffer_play_svg(struct hr_text *out, const struct buffer_play *play);

#endif
