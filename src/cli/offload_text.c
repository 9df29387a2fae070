/* SPDX-License-Identifier: ISC */
#include <inttypes.h>
#include <string.h>

#include "base/units.h"
#include "cli/forecast_report.h"
#include "cli/offload_report.h"

static const char *files(char out[HR_UNIT_TEXT_SIZE], uint64_t count)
{
    return hr__format_counted(out, count, "file");
}

static const char *bytes(char out[HR_UNIT_TEXT_SIZE], uint64_t value)
{
    return hr__format_bytes(out, value);
}

static void plan_card(struct cli_output *out, const struct hr_plan_card *card)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE], c[HR_UNIT_TEXT_SIZE];
    cli_output_append(out, "card  ");
    cli_output_name(out, card->path);
    cli_output_printf(out, " (%s), job '", card->name);
    cli_output_name(out, card->job);
    cli_output_printf(out, "'\n      %s in %s, %s\n", hr__format_counted(a, card->frames, "frame"),
                      files(b, card->files), bytes(c, card->bytes));
    cli_output_printf(out, "      to copy: %s, %s", files(a, card->files_to_copy), bytes(b, card->bytes_to_copy));
    if (card->files_known)
        cli_output_printf(out, "; %s already there and proven", hr__format_count(a, card->files_known));
    cli_output_append(out, "\n");
    if (card->links)
        cli_output_printf(out, "      left out: %s\n", hr__format_counted(a, card->links, "link"));
    if (card->specials)
        cli_output_printf(out, "      left out: %s that is no file\n", hr__format_counted(a, card->specials, "entry"));
    if (card->unreadable)
        cli_output_printf(out, "      UNREADABLE: %zu\n", card->unreadable);
}

static void plan_place(struct cli_output *out, const struct hr_plan_place *place)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE], c[HR_UNIT_TEXT_SIZE];
    cli_output_append(out, "place ");
    cli_output_name(out, place->path);
    cli_output_printf(out, "\n      to copy: %s, %s; %s free\n", files(a, place->files_to_copy),
                      bytes(b, place->bytes_to_copy), bytes(c, place->free_bytes));
    if (place->resumed_files)
        cli_output_printf(out, "      %s kept from an interrupted run\n", files(a, place->resumed_files));
    if (place->is_in_memory)
        cli_output_append(out, "      in memory: counts as no copy\n");
    else
        cli_output_printf(out, "      %s on drive %s\n", place->fs_type, place->drive);
}

void offload_text_plan(struct cli_output *out, const struct hr_offload_plan *plan)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < plan->card_count; i++)
        plan_card(out, &plan->cards[i]);
    for (size_t i = 0; i < plan->place_count; i++)
        plan_place(out, &plan->places[i]);
    if (plan->digest_bytes_per_s > 0)
        cli_output_printf(out, "SHA-256 at up to %s\n", hr__format_rate(a, plan->digest_bytes_per_s));
    forecast_text_line(out, plan);
    cli_output_printf(out, "total %s, %s; nothing was written\n", files(a, plan->files_to_copy),
                      bytes(b, plan->bytes_to_copy));
}

static void result_proven(struct cli_output *out, const struct hr_result_place *place)
{
    size_t unsure = place->proofs[HR_PROOF_CACHE];
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE];
    cli_output_printf(out, "%s, %s, ", files(a, place->files_proven), bytes(b, place->bytes_proven));
    if (unsure && unsure < place->files_proven)
        cli_output_printf(out, "verified (%s of them not from the medium)\n", hr__format_count(a, unsure));
    else
        cli_output_append(out, unsure ? "verified (not from the medium)\n" : "verified from the medium\n");
}

/* What became of the place; then, where it failed, what stands there all the same. */
static void result_outcome(struct cli_output *out, const struct hr_result_place *place)
{
    bool has_failed = place->status != HR_OK, is_complete = place->files_failed + place->files_missing == 0;
    if (has_failed) {
        cli_output_painted(out, CLI_BAD, "FAILED");
        cli_output_printf(out, ": %s\n", place->text);
    } else if (place->files_proven == 0) {
        cli_output_append(out, is_complete ? "nothing new\n" : "nothing proven in this run\n");
    }
    if (has_failed && place->files_proven)
        cli_output_append(out, "    ");
    if (place->files_proven)
        result_proven(out, place);
}

static void result_shortfall(struct cli_output *out, size_t count, const char *how)
{
    char number[HR_UNIT_TEXT_SIZE], text[2 * HR_UNIT_TEXT_SIZE];
    if (count == 0)
        return;
    snprintf(text, sizeof text, "%s %s", files(number, count), how);
    cli_output_append(out, "    ");
    cli_output_painted(out, CLI_BAD, text);
    cli_output_append(out, "\n");
}

static void result_place(struct cli_output *out, const struct hr_result_place *place)
{
    cli_output_append(out, "  ");
    cli_output_name(out, place->path);
    cli_output_append(out, "  ");
    result_outcome(out, place);
    result_shortfall(out, place->files_failed, "FAILED");
    result_shortfall(out, place->files_missing, "not copied yet");
    if (place->bag_path[0] && (place->files_proven > 0 || place->files_missing == 0)) { /* else it may be gone */
        cli_output_append(out, "    ");
        cli_output_name(out, place->bag_path);
        cli_output_append(out, "\n");
    }
}

void offload_text_result(struct cli_output *out, const struct hr_offload_result *result, bool quiet)
{
    uint64_t proven = 0;
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < result->card_count; i++) {
        const struct hr_result_card *card = &result->cards[i];
        safety_text_sentence(out, card->path, card->safety);
        if (card->was_pulled)
            cli_output_append(out, "  it was pulled while being read; put it back and run the same command\n");
        for (size_t k = 0; k < result->place_count && !quiet; k++) {
            result_place(out, &card->places[k]);
            proven += card->places[k].bytes_proven;
        }
    }
    if (quiet)
        return;
    if (proven > 0)
        cli_output_printf(out, "%s of copies proven in %s\n", bytes(a, proven),
                          hr__format_duration(b, result->elapsed_ns));
    if (result->stopped_at_deadline)
        cli_output_append(out, "stopped for the deadline: the same command again goes on\n");
    else if (!result->all_done)
        cli_output_append(out, "not everything is done: the same command again goes on\n");
    if (result->run)
        cli_output_printf(out, "more: headrace log %" PRId64 "\n", result->run);
}
