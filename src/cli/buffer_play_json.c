/* SPDX-License-Identifier: ISC */
#include <math.h>

#include "cli/buffer_play.h"

static void put_full(struct json_writer *json, const struct hr_buffer_plan *plan)
{
    json_decimal(json, "full_at_s", plan->full_at_s < 0 ? NAN : plan->full_at_s, 3);
}

static void put_timeline(struct json_writer *json, const struct hr_buffer_plan *plan)
{
    json_open(json, "timeline", '[');
    for (size_t i = 0; i < plan->moment_count; i++) {
        json_open(json, NULL, '{');
        json_decimal(json, "t", plan->timeline[i].at_s, 3);
        json_decimal(json, "fill", plan->timeline[i].fill, 4);
        json_decimal(json, "fps", plan->timeline[i].per_s, 3);
        json_close(json);
    }
    json_close(json);
}

void buffer_play_json(struct json_writer *json, const struct buffer_play *play)
{
    const struct hr_buffer_plan *plan = &play->ways[0].plan;
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "buffer plan");
    json_decimal(json, "frames", plan->frames, 3);
    put_full(json, plan);
    put_timeline(json, plan);
    json_open(json, "policies", '[');
    for (size_t i = 0; i < play->way_count; i++) {
        json_open(json, NULL, '{');
        json_text(json, "name", play->ways[i].name);
        json_decimal(json, "frames", play->ways[i].plan.frames, 3);
        put_full(json, &play->ways[i].plan);
        json_close(json);
    }
    json_close(json);
    json_decimal(json, "hold_back_s", play->is_too_long ? NAN : play->hold_back_s, 3);
    json_close(json);
    json_end(json);
}
