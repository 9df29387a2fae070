/* SPDX-License-Identifier: ISC */
#include "cli/sequences_lines.h"

#include <stdio.h>
#include <string.h>

#include "cli/bar.h"
#include "cli/progress_pen.h"
#include "cli/when.h"

/* A line with names of one letter and a stall after up to 999 frames fits 80 columns. */
enum { NAME_COLUMNS_MAX = 10, BAR_COLUMNS = 8 };

struct listing {
    struct cli_output *out;
    const struct sequences_found *found;
    struct sequences_facts facts;
    bool blocks;
    int name_width;
    const char *job; /* of the line before */
    char date[CLI_WHEN_SIZE];
    int64_t latest_end_ns;
};

static int widest_name(const struct sequences_found *found)
{
    int widest = 4; /* "body" */
    for (size_t i = 0; i < found->filled->body_count; i++) {
        char name[PEN_NAME_SIZE];
        pen_format_name(name, found->filled->body_names[i], NAME_COLUMNS_MAX);
        widest = pen_width(name) > widest ? pen_width(name) : widest;
    }
    return widest;
}

static void show_stall(struct cli_output *out, const struct hr_burst *burst, int bar_width)
{
    char drain[HR_UNIT_TEXT_SIZE], count[HR_UNIT_TEXT_SIZE], mark[3 * HR_UNIT_TEXT_SIZE];
    snprintf(mark, sizeof mark, "full after %s, then %s", hr__format_count(count, burst->stall.frame - burst->first),
             format_cadence(drain, burst->stall.drain_cadence_per_s));
    cli_output_printf(out, "%*s", BAR_COLUMNS - bar_width + 2, "");
    cli_output_painted(out, CLI_BAD, mark);
}

static void show_sequence(struct listing *listing, const struct hr_sequence *sequence)
{
    struct cli_output *out = listing->out;
    const struct hr_burst *stalled = sequence_worst_stall(sequence);
    char clock[CLI_WHEN_SIZE], name[PEN_NAME_SIZE], frames[HR_UNIT_TEXT_SIZE], length[HR_UNIT_TEXT_SIZE],
        cadence[HR_UNIT_TEXT_SIZE], bar[BAR_SIZE];
    enum cli_paint paint = sequence_is_busy(sequence, &listing->facts) ? CLI_STRONG : CLI_PLAIN;
    pen_format_name(name, listing->found->filled->body_names[sequence->body], NAME_COLUMNS_MAX);
    format_bar(bar, (double)sequence->frame_count / (double)listing->facts.most_frames, BAR_COLUMNS, listing->blocks);
    cli_output_printf(out, "  %s  %s%*s  ", cli_when_clock(clock, sequence->start_local_ns), name,
                      listing->name_width - pen_width(name), "");
    snprintf(frames, sizeof frames, "%6zu", sequence->frame_count);
    cli_output_painted(out, paint, frames);
    cli_output_printf(out, " %10s %7s  ", format_length(length, sequence->length_ns),
                      format_cadence(cadence, sequence_main_burst(sequence)->cadence_per_s));
    cli_output_painted(out, paint, bar);
    if (stalled)
        show_stall(out, stalled, pen_width(bar));
    cli_output_append(out, "\n");
}

/* Job and day where they change, else a pause where there was one. */
static void show_break(struct listing *listing, const struct hr_sequence *sequence)
{
    const char *job = sequence_frame(listing->found, sequence, 0)->job;
    char date[CLI_WHEN_SIZE], pause[HR_UNIT_TEXT_SIZE];
    cli_when_date(date, sequence->start_local_ns);
    if (!listing->job || strcmp(job, listing->job) != 0 || strcmp(date, listing->date) != 0) {
        cli_output_append(listing->out, "\n");
        if (strcmp(job, date) != 0)
            cli_output_name(listing->out, job);
        cli_output_printf(listing->out, "%s%s\n", *job && strcmp(job, date) != 0 ? ", " : "", date);
        cli_output_printf(listing->out, "  time      %-*s  frames     length cadence\n", listing->name_width, "body");
        listing->job = job;
        snprintf(listing->date, sizeof listing->date, "%s", date);
        listing->latest_end_ns = sequence->start_local_ns;
    } else if (sequence_follows_pause(sequence->start_local_ns, listing->latest_end_ns)) {
        snprintf(pause, sizeof pause, "  -- pause --");
        cli_output_painted(listing->out, CLI_FAINT, pause);
        cli_output_printf(listing->out, "  %s\n",
                          hr__format_duration(pause, sequence->start_local_ns - listing->latest_end_ns));
    }
}

void sequences_lines(struct cli_output *out, const struct sequences_found *found, const struct sequences_facts *facts,
                     bool blocks)
{
    struct listing listing = {
        .out = out, .found = found, .facts = *facts, .blocks = blocks, .name_width = widest_name(found)};
    for (size_t i = 0; i < found->grouping->sequence_count; i++) {
        const struct hr_sequence *sequence = &found->grouping->sequences[i];
        show_break(&listing, sequence);
        show_sequence(&listing, sequence);
        if (sequence_end_local_ns(sequence) > listing.latest_end_ns)
            listing.latest_end_ns = sequence_end_local_ns(sequence);
    }
}
