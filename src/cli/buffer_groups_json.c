/* SPDX-License-Identifier: ISC */
#include <math.h>

#include "cli/buffer_groups.h"

static double known(double value)
{
    return value > 0 ? value : NAN;
}

static void put_range(struct json_writer *json, const char *key, const struct hr_buffer_range *range)
{
    json_open(json, key, '[');
    json_decimal(json, NULL, known(range->low), 3);
    json_decimal(json, NULL, known(range->high), 3);
    json_close(json);
}

static void put_kinds(struct json_writer *json, unsigned kinds)
{
    json_open(json, "files", '[');
    for (size_t i = 0; i < BUFFER_PICTURES; i++)
        if (kinds & 1u << i)
            json_text(json, NULL, hr_card_file_kind_name(buffer_pictures[i]));
    json_close(json);
}

static void put_fit(struct json_writer *json, const struct hr_buffer_stalls *found)
{
    if (!found->has_fit) {
        json_null(json, "by_counts");
        return;
    }
    json_open(json, "by_counts", '{');
    json_decimal(json, "depth_frames", found->fit.buffer.depth_frames, 3);
    json_decimal(json, "drain_fps", found->fit.buffer.drain_per_s, 4);
    json_close(json);
}

static void put_iso(struct json_writer *json, enum buffer_iso iso)
{
    if (iso == BUFFER_ISO_ANY)
        json_null(json, "iso");
    else
        json_text(json, "iso", buffer_iso_name(iso));
}

static void put_group(struct json_writer *json, const struct buffer_groups *groups, const struct buffer_group *group)
{
    const struct hr_body *body = &groups->grouping->bodies[group->body];
    const struct hr_buffer_stalls *found = &group->found;
    char name[BUFFER_BODY_SIZE];
    json_open(json, NULL, '{');
    json_text(json, "body", buffer_body_name(name, group->body));
    json_name(json, "serial", body->serial);
    json_name(json, "model", body->model);
    json_text(json, "card", group->label);
    put_kinds(json, group->kinds);
    put_iso(json, group->iso);
    json_decimal(json, "depth_frames", known(found->buffer.depth_frames), 3);
    json_decimal(json, "drain_fps", found->buffer.drain_per_s, 4);
    json_decimal(json, "drain_MB_s", known(found->drain_bytes_per_s / 1e6), 3);
    json_open(json, "range", '{');
    put_range(json, "depth", &found->depth);
    put_range(json, "drain", &found->drain);
    json_close(json);
    json_number(json, "stalls", group->stall_count);
    json_number(json, "rested", found->rested_count);
    put_fit(json, found);
    json_close(json);
}

static void put_comparison(struct json_writer *json, const struct buffer_groups *groups,
                           const struct buffer_group *group)
{
    const struct buffer_group *faster = buffer_groups_faster(groups, group);
    char name[BUFFER_BODY_SIZE];
    if (!faster)
        return;
    json_open(json, NULL, '{');
    json_text(json, "body", buffer_body_name(name, group->body));
    put_kinds(json, group->kinds);
    put_iso(json, group->iso);
    json_text(json, "faster", faster->label);
    json_text(json, "slower", group->label);
    json_decimal(json, "fps", buffer_frames_more(faster, group, 1), 3);
    json_decimal(json, "frames_in_30_s", buffer_frames_more(faster, group, BUFFER_COMPARED_HOLD_S), 1);
    json_close(json);
}

void buffer_groups_json(struct json_writer *json, const struct buffer_groups *groups)
{
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "buffer from");
    json_open(json, "buffers", '[');
    for (size_t i = 0; i < groups->count; i++)
        put_group(json, groups, &groups->items[i]);
    json_close(json);
    json_open(json, "comparisons", '[');
    for (size_t i = 0; i < groups->count; i++)
        put_comparison(json, groups, &groups->items[i]);
    json_close(json);
    json_close(json);
    json_end(json);
}
