/* SPDX-License-Identifier: ISC */
#include "base/units.h"
#include "cli/forecast_report.h"
#include "cli/when.h"

static const char *lasts(char out[HR_UNIT_TEXT_SIZE], double seconds)
{
    return hr__format_duration(out, (int64_t)(seconds * HR_NS_PER_S));
}

/* A card or place that hangs on the link itself; "": none does, it is that of a hub. */
static const char *path_on_link(const struct hr_offload_plan *plan, unsigned link)
{
    const struct hr_forecast_job *job = &plan->foreseen->job;
    for (size_t i = 0; i < job->card_count; i++)
        if (job->cards[i].link == link)
            return plan->cards[i].path;
    for (size_t i = 0; i < job->place_count; i++)
        if (job->places[i].link == link)
            return plan->places[i].path;
    return "";
}

static void put_in_list(struct cli_output *out, bool *is_first, const char *path)
{
    cli_output_append(out, *is_first ? "" : ", ");
    cli_output_name(out, path);
    *is_first = false;
}

static void name_hub(struct cli_output *out, const struct hr_offload_plan *plan, unsigned link)
{
    const struct hr_forecast_job *job = &plan->foreseen->job;
    bool is_first = true;
    cli_output_append(out, "the hub of ");
    for (size_t i = 0; i < job->card_count; i++)
        if (hr_forecast_crosses(job, job->cards[i].link, link))
            put_in_list(out, &is_first, plan->cards[i].path);
    for (size_t i = 0; i < job->place_count; i++)
        if (hr_forecast_crosses(job, job->places[i].link, link))
            put_in_list(out, &is_first, plan->places[i].path);
}

static void name_link(struct cli_output *out, const struct hr_offload_plan *plan, unsigned link)
{
    const char *path = path_on_link(plan, link);
    if (*path) {
        cli_output_append(out, "the link of ");
        cli_output_name(out, path);
    } else {
        name_hub(out, plan, link);
    }
}

void forecast_text_stage(struct cli_output *out, const struct hr_offload_plan *plan,
                         const struct hr_forecast_stage *stage)
{
    switch (stage->kind) {
    case HR_LIMIT_NONE:
        cli_output_append(out, "nothing");
        break;
    case HR_LIMIT_CARD:
        cli_output_append(out, "the card ");
        cli_output_name(out, plan->cards[stage->index].path);
        break;
    case HR_LIMIT_LINK:
        name_link(out, plan, stage->index);
        break;
    case HR_LIMIT_PLACE:
        cli_output_append(out, "the place ");
        cli_output_name(out, plan->places[stage->index].path);
        break;
    case HR_LIMIT_DIGEST:
        cli_output_append(out, "SHA-256");
        break;
    }
}

void forecast_text_line(struct cli_output *out, const struct hr_offload_plan *plan)
{
    const struct hr_foreseen *foreseen = plan->foreseen;
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE], c[HR_UNIT_TEXT_SIZE];
    if (!foreseen || foreseen->forecast.stage_count == 0)
        return;
    cli_output_printf(out, "about %s to verified, %s to %s; ", lasts(a, foreseen->forecast.verified_s),
                      lasts(b, foreseen->verified.low_s), lasts(c, foreseen->verified.high_s));
    forecast_text_stage(out, plan, &foreseen->forecast.stages[0]);
    cli_output_append(out, " holds it up\n");
}

static void answer(struct cli_output *out, const struct hr_foreseen *foreseen)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE], c[HR_UNIT_TEXT_SIZE], line[4 * HR_UNIT_TEXT_SIZE];
    snprintf(line, sizeof line, "copied in %s, verified in %s", lasts(a, foreseen->forecast.copied_s),
             lasts(b, foreseen->forecast.verified_s));
    cli_output_painted(out, CLI_STRONG, line);
    cli_output_printf(out, " (%s to %s)\n", lasts(a, foreseen->verified.low_s), lasts(c, foreseen->verified.high_s));
}

/* What holds it up, and what would next. */
static void stages(struct cli_output *out, const struct hr_offload_plan *plan)
{
    static const char *const leads[] = {"  held up by ", "  next is "};
    const struct hr_forecast *forecast = &plan->foreseen->forecast;
    char a[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < forecast->stage_count && i < sizeof leads / sizeof *leads; i++) {
        cli_output_append(out, leads[i]);
        forecast_text_stage(out, plan, &forecast->stages[i]);
        cli_output_printf(out, ": %s\n", lasts(a, forecast->stages[i].seconds));
    }
}

static void changes(struct cli_output *out, const struct hr_foreseen *foreseen)
{
    char a[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < foreseen->change_count; i++) {
        cli_output_append(out, "  ");
        cli_output_name(out, foreseen->changes[i].text);
        cli_output_printf(out, ": %s\n", lasts(a, foreseen->changes[i].verified_s));
    }
}

static void basis(struct cli_output *out, const struct hr_foreseen *foreseen)
{
    char a[HR_UNIT_TEXT_SIZE];
    if (foreseen->forecast.basis == HR_BASIS_CEILINGS)
        cli_output_append(out, "  a guess: not all of these were measured yet (headrace measure)\n");
    else if (foreseen->past_runs)
        cli_output_printf(out, "  9 of 10 runs fall within: as %s did\n",
                          hr__format_counted(a, foreseen->past_runs, "run"));
    else if (foreseen->like_runs)
        cli_output_printf(out, "  as %s of these devices went; the range is a guess until 9 are known\n",
                          hr__format_counted(a, foreseen->like_runs, "run"));
    else
        cli_output_append(out, "  from measured speeds; the range is a guess until 9 runs are known\n");
}

/* In an order other than the camera's any of them may be whole. */
static void show_sequences(struct cli_output *out, const struct forecast_by *by)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE];
    size_t whole = 0, in_part = 0;
    for (size_t i = 0; i < by->sequence_count; i++) {
        const struct hr_fits_sequence *sequence = &by->sequences[i];
        whole += sequence->frames_by_then == sequence->frames;
        in_part += sequence->frames_by_then > 0 && sequence->frames_by_then < sequence->frames;
    }
    if (by->sequence_count == 0)
        return;
    cli_output_printf(out, "  sequences by their files' times: %s of %s whole", hr__format_count(a, whole),
                      hr__format_count(b, by->sequence_count));
    if (in_part > 0)
        cli_output_printf(out, ", %s in part", hr__format_count(a, in_part));
    cli_output_append(out, "\n");
}

static void show_by(struct cli_output *out, const struct hr_offload_plan *plan, const struct forecast_by *by)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE], c[HR_UNIT_TEXT_SIZE], when[CLI_WHEN_SIZE];
    int64_t asked_ns = by->wall_ns - (int64_t)(by->deadline_s * HR_NS_PER_S);
    cli_output_printf(out, "  verified by %s: ", cli_when_from(when, by->wall_ns, asked_ns));
    if (by->fits.files == plan->files_to_copy) {
        cli_output_append(out, "all of it\n");
        return;
    }
    cli_output_printf(out, "%s, %s; %s must wait\n", hr__format_counted(a, by->fits.frames, "frame"),
                      hr__format_bytes(b, by->fits.bytes),
                      hr__format_counted(c, plan->files_to_copy - by->fits.files, "file"));
    if (by->fits.last_path) {
        cli_output_append(out, "  the last of them is ");
        cli_output_name(out, by->fits.last_path);
        cli_output_printf(out, ", of %s\n", cli_when_local(when, by->fits.last_modified_ns));
    }
    show_sequences(out, by);
}

static void nothing_to_copy(struct cli_output *out, const struct hr_offload_plan *plan)
{
    char count[HR_UNIT_TEXT_SIZE];
    size_t unreadable = 0;
    for (size_t i = 0; i < plan->card_count; i++)
        unreadable += plan->cards[i].unreadable;
    if (unreadable == 0)
        cli_output_append(out, "nothing to copy: every file is there and proven\n");
    else
        cli_output_printf(out, "nothing to copy: every file that can be read is there and proven; UNREADABLE: %s\n",
                          hr__format_count(count, unreadable));
}

void forecast_text(struct cli_output *out, const struct hr_offload_plan *plan, const struct forecast_by *by, bool quiet)
{
    const struct hr_foreseen *foreseen = plan->foreseen;
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE];
    if (plan->files_to_copy == 0) {
        nothing_to_copy(out, plan);
        return;
    }
    answer(out, foreseen);
    if (!quiet)
        cli_output_printf(out, "  to copy: %s, %s\n", hr__format_counted(a, plan->files_to_copy, "file"),
                          hr__format_bytes(b, plan->bytes_to_copy));
    if (by->deadline_s > 0)
        show_by(out, plan, by);
    if (quiet)
        return;
    stages(out, plan);
    changes(out, foreseen);
    basis(out, foreseen);
    cli_output_append(out, "\nA forecast is not a promise: pull no card on its word.\n");
}
