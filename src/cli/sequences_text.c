/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include "cli/sequences_lines.h"
#include "cli/sequences_report.h"

enum { UNKNOWN_SHOWN = 10, FAILED_SHOWN = 10 };

/* ---- big facts ---- */

static void show_counts(struct cli_output *out, const struct sequences_found *found)
{
    const struct hr_grouping *grouping = found->grouping;
    char frames[HR_UNIT_TEXT_SIZE], sequences[HR_UNIT_TEXT_SIZE], count[HR_UNIT_TEXT_SIZE], line[5 * HR_UNIT_TEXT_SIZE];
    int at =
        snprintf(line, sizeof line, "%s: %s, %s", hr__format_counted(frames, found->delivered->frame_count, "frame"),
                 hr__format_counted(sequences, grouping->sequence_count, "sequence"),
                 hr__format_counted(count, grouping->single_count, "single"));
    if (grouping->unknown_count)
        snprintf(line + at, sizeof line - (size_t)at, ", %s not grouped",
                 hr__format_count(count, grouping->unknown_count));
    cli_output_painted(out, CLI_STRONG, line);
    cli_output_append(out, "\n");
}

static void show_bodies(struct cli_output *out, const struct sequences_found *found)
{
    for (size_t i = 0; i < found->grouping->body_count; i++) {
        const struct hr_body *body = &found->grouping->bodies[i];
        char frames[HR_UNIT_TEXT_SIZE];
        cli_output_append(out, "body ");
        cli_output_name(out, found->filled->body_names[i]);
        cli_output_printf(out, ": %s", hr__format_counted(frames, body->frame_count, "frame"));
        if (body->serial[0] || body->model[0])
            cli_output_append(out, body->serial[0] ? ", serial " : ", ");
        cli_output_name(out, body->serial[0] ? body->serial : body->model);
        cli_output_append(out, "\n");
    }
}

static void show_stalls(struct cli_output *out, const struct sequences_facts *facts)
{
    char sequences[HR_UNIT_TEXT_SIZE], frames[HR_UNIT_TEXT_SIZE];
    if (facts->stalled)
        cli_output_printf(out, "buffer full in %s: about %s lost\n",
                          hr__format_counted(sequences, facts->stalled, "sequence"),
                          hr__format_counted(frames, (uint64_t)(facts->frames_lost + 0.5), "frame"));
}

/* ---- what is worth knowing besides ---- */

static void show_unknown(struct cli_output *out, const struct sequences_found *found)
{
    const struct hr_grouping *grouping = found->grouping;
    char count[HR_UNIT_TEXT_SIZE];
    if (grouping->unknown_count)
        cli_output_printf(out, "not grouped: %s\n", hr__format_counted(count, grouping->unknown_count, "frame"));
    for (size_t i = 0; i < grouping->unknown_count && i < UNKNOWN_SHOWN; i++) {
        const struct hr_frame *frame = &found->delivered->frames[grouping->unknown[i]];
        cli_output_append(out, "  ");
        cli_output_name(out, frame->key);
        cli_output_printf(out, ": %s\n", frame->trouble ? frame->trouble : "its time is not known");
    }
    if (grouping->unknown_count > UNKNOWN_SHOWN)
        cli_output_printf(out, "  and %s more\n", hr__format_count(count, grouping->unknown_count - UNKNOWN_SHOWN));
}

static void show_clock_change(struct cli_output *out, const struct sequences_found *found,
                              const struct hr_clock_change *change)
{
    const struct hr_frame *frame = &found->delivered->frames[change->frame];
    int64_t jump_ns = change->jump_ns < 0 ? -change->jump_ns : change->jump_ns;
    char jump[HR_UNIT_TEXT_SIZE];
    cli_output_append(out, "the clock of body ");
    cli_output_name(out, found->filled->body_names[change->body]);
    cli_output_printf(out, " went %s by %s before ", change->jump_ns < 0 ? "back" : "forward",
                      hr__format_duration(jump, jump_ns));
    cli_output_name(out, frame->key);
    cli_output_append(out, change->is_summer_time ? ": summer time?\n" : "\n");
}

/* ---- folders ---- */

static void show_place(struct cli_output *out, const struct sequences_found *found, const struct hr_filled_place *place)
{
    char made[HR_UNIT_TEXT_SIZE], there[HR_UNIT_TEXT_SIZE];
    const struct place_facts facts = place_facts_of(found->filled, place);
    /* Why nothing could be done there stands with what failed. */
    if (!facts.folder_size && facts.failed)
        return;
    cli_output_append(out, "in ");
    if (facts.folder_size)
        cli_output_name_bytes(out, place->index_path, facts.folder_size);
    else
        cli_output_name(out, found->delivered->places[place->place].path);
    if (facts.folder_size && place->fill == HR_FILL_LIST)
        cli_output_append(out, ": the index alone");
    else if (facts.folder_size)
        cli_output_printf(out, ": %s (%s), %s there before", hr__format_counted(made, facts.folders_new, "new folder"),
                          hr_fill_name(place->fill), hr__format_count(there, facts.folders_there));
    cli_output_printf(out, "%s%s\n", !place->sentence[0] ? "" : facts.folder_size ? "; " : ": ", place->sentence);
}

/* A drive that takes nothing fails every sequence alike: that is one line. */
static void show_failed(struct cli_output *out, const struct sequences_found *found,
                        const struct sequences_facts *facts)
{
    char count[HR_UNIT_TEXT_SIZE];
    const struct hr_delivered *delivered = found->delivered;
    const char *last = "";
    size_t told = 0, shown = 0;
    if (delivered->has_unfinished)
        cli_output_append(out, "a bag here is not finished: run its offload again first, or sequences lack its rest\n");
    if (delivered->unread_count) {
        cli_output_painted(out, CLI_BAD, "FAILED");
        cli_output_printf(out, ": %s\n", delivered->unread.text);
    }
    if (delivered->unread_count > 1)
        cli_output_printf(out, "  and %s more could not be read\n",
                          hr__format_count(count, delivered->unread_count - 1));
    for (size_t i = 0; i < found->filled->sequence_count; i++) {
        const struct hr_fault *fault = found->filled->sequences[i].fault;
        bool is_new = fault && strcmp(fault->text, last) != 0;
        if (is_new && shown++ == FAILED_SHOWN)
            break;
        told += fault != NULL;
        if (!is_new)
            continue;
        last = fault->text;
        cli_output_painted(out, CLI_BAD, "FAILED");
        cli_output_printf(out, ": %s\n", last);
    }
    if (facts->failed > told)
        cli_output_printf(out, "  and %s more failed\n", hr__format_count(count, facts->failed - told));
}

/* ---- together ---- */

static void show_places(struct cli_output *out, const struct sequences_found *found)
{
    for (size_t i = 0; i < found->filled->place_count; i++)
        show_place(out, found, &found->filled->places[i]);
}

void sequences_text(struct cli_output *out, const struct sequences_found *found, bool blocks)
{
    const struct sequences_facts facts = sequences_facts_of(found);
    show_counts(out, found);
    show_bodies(out, found);
    show_stalls(out, &facts);
    sequences_lines(out, found, &facts, blocks);
    cli_output_append(out, "\n");
    show_unknown(out, found);
    for (size_t i = 0; i < found->grouping->clock_change_count; i++)
        show_clock_change(out, found, &found->grouping->clock_changes[i]);
    show_places(out, found);
    show_failed(out, found, &facts);
}

void sequences_text_line(struct cli_output *out, const struct sequences_found *found)
{
    const struct sequences_facts facts = sequences_facts_of(found);
    show_counts(out, found);
    show_failed(out, found, &facts);
}

void sequences_text_summary(struct cli_output *out, const struct sequences_found *found)
{
    const struct sequences_facts facts = sequences_facts_of(found);
    show_counts(out, found);
    show_stalls(out, &facts);
    show_places(out, found);
    show_failed(out, found, &facts);
}
