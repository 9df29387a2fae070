/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "base/units.h"
#include "cli/buffer_groups.h"

static void show_body(struct cli_output *out, const struct buffer_groups *groups, uint32_t body)
{
    const struct hr_body *named = &groups->grouping->bodies[body];
    char name[BUFFER_BODY_SIZE];
    cli_output_printf(out, "\nbody %s", buffer_body_name(name, body));
    if (named->serial[0] || named->model[0])
        cli_output_append(out, named->serial[0] ? ", serial " : ", ");
    cli_output_name(out, named->serial[0] ? named->serial : named->model);
    cli_output_append(out, "\n");
}

static void show_figures(struct cli_output *out, const struct hr_buffer_stalls *found)
{
    char line[96];
    if (found->rested_count > 0)
        snprintf(line, sizeof line, "depth %.1f frames, drain %.1f a second", found->buffer.depth_frames,
                 found->buffer.drain_per_s);
    else
        snprintf(line, sizeof line, "drain %.1f a second", found->buffer.drain_per_s);
    cli_output_painted(out, CLI_STRONG, line);
}

static void show_group(struct cli_output *out, const struct buffer_group *group)
{
    const struct hr_buffer_stalls *found = &group->found;
    char files[BUFFER_FILES_SIZE], text[HR_UNIT_TEXT_SIZE];
    cli_output_append(out, "  ");
    show_figures(out, found);
    if (found->drain_bytes_per_s > 0)
        cli_output_printf(out, ", %s", hr__format_rate(text, found->drain_bytes_per_s));
    cli_output_printf(out, "\n    %s, %s: full in %s", group->label, buffer_files_name(files, group),
                      hr__format_counted(text, group->stall_count, "burst"));
    if (found->rested_count > 0)
        cli_output_printf(out, ", empty before %zu\n", found->rested_count);
    else
        cli_output_append(out, ", never empty before: no depth\n");
    if (group->stall_count > 1) {
        cli_output_printf(out, "    drain from %.1f to %.1f", found->drain.low, found->drain.high);
        if (found->rested_count > 1)
            cli_output_printf(out, ", depth from %.1f to %.1f", found->depth.low, found->depth.high);
        cli_output_append(out, "\n");
    }
    if (found->has_fit)
        cli_output_printf(out, "    fitted from the counts alone: depth %.1f, drain %.1f\n",
                          found->fit.buffer.depth_frames, found->fit.buffer.drain_per_s);
}

static void show_faster(struct cli_output *out, const struct buffer_groups *groups, const struct buffer_group *group)
{
    const struct buffer_group *faster = buffer_groups_faster(groups, group);
    if (!faster)
        return;
    cli_output_append(out, "  ");
    cli_output_painted(out, CLI_STRONG, faster->label);
    cli_output_printf(out, " clears %.1f frames a second faster than %s:\n    %.0f more frames in a %d s hold\n",
                      buffer_frames_more(faster, group, 1), group->label,
                      buffer_frames_more(faster, group, BUFFER_COMPARED_HOLD_S), BUFFER_COMPARED_HOLD_S);
}

static void show_heading(struct cli_output *out, const struct buffer_groups *groups)
{
    size_t stalls = 0;
    char text[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < groups->count; i++)
        stalls += groups->items[i].stall_count;
    if (stalls > 0)
        cli_output_printf(out, "the buffer was full in %s\n", hr__format_counted(text, stalls, "burst"));
    else
        cli_output_append(out, "the buffer was never full: it cannot be told from these\n");
}

/* The groups of one body, then its cards compared; gives the index past them. */
static size_t show_groups(struct cli_output *out, const struct buffer_groups *groups, size_t first)
{
    size_t end = first;
    show_body(out, groups, groups->items[first].body);
    for (; end < groups->count && groups->items[end].body == groups->items[first].body; end++)
        show_group(out, &groups->items[end]);
    for (size_t i = first; i < end; i++)
        show_faster(out, groups, &groups->items[i]);
    return end;
}

void buffer_groups_text(struct cli_output *out, const struct buffer_groups *groups, bool line_only)
{
    show_heading(out, groups);
    for (size_t i = 0; i < groups->count && !line_only;)
        i = show_groups(out, groups, i);
}
