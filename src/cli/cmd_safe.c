/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include <headrace/offload.h>

#include "base/units.h"
#include "cli/cli.h"
#include "cli/offload_report.h"
#include "cli/progress_look.h"
#include "cli/when.h"

struct safe_settings {
    struct cli_common common;
    int progress;
};

enum { SHORT_FILES_SHOWN = 10 };

static const struct cli_option options[] = {
    CLI_PROGRESS_OPTION(struct safe_settings),
    CLI_LEDGER_OPTION(struct safe_settings),
    CLI_COMMON_OPTIONS(struct safe_settings),
};

static const char caution[] = "\nNever format on one copy. Two copies on one drive are one.\n"
                              "A digest proves what was read from the card, not that the camera wrote it well.\n"
                              "Keep a third copy elsewhere.\n";

static void show_drive(struct cli_output *out, const struct hr_safety_drive *drive)
{
    char files[HR_UNIT_TEXT_SIZE], when[CLI_WHEN_SIZE];
    cli_output_append(out, "  ");
    cli_output_name(out, drive->name);
    cli_output_printf(out, "  %s proven", hr__format_counted(files, drive->files, "file"));
    if (drive->last_proven_ns)
        cli_output_printf(out, ", last %s", cli_when_local(when, drive->last_proven_ns));
    cli_output_append(out, drive->is_connected ? "" : ", not connected now");
    cli_output_append(out, drive->counts ? "\n" : "; in memory: does not count\n");
    if (drive->not_from_medium)
        cli_output_printf(out, "    not counted: %s, verified (not from the medium)\n",
                          hr__format_counted(files, drive->not_from_medium, "file"));
}

static void show_short_files(struct cli_output *out, const struct hr_safety *safety)
{
    size_t short_count = safety->on_one + safety->on_none, shown = 0;
    char more[HR_UNIT_TEXT_SIZE];
    if (safety->short_file_count)
        cli_output_append(out, "  on fewer than two drives:\n");
    for (; shown < safety->short_file_count && shown < SHORT_FILES_SHOWN; shown++) {
        cli_output_append(out, "    ");
        cli_output_name(out, safety->short_files[shown]);
        cli_output_append(out, "\n");
    }
    if (shown && short_count > shown)
        cli_output_printf(out, "    and %s more\n", hr__format_count(more, short_count - shown));
}

static void show_text(const struct cli_call *call, const char *card, const struct hr_safety *safety)
{
    safety_text_sentence(call->out, card, safety);
    if (call->common->quiet)
        return;
    for (size_t i = 0; i < safety->drive_count; i++)
        show_drive(call->out, &safety->drives[i]);
    show_short_files(call->out, safety);
}

/* What cannot be told is not safe. */
static void show_fault(const struct cli_call *call, struct json_writer *json, const char *card, enum hr_status status,
                       const struct hr_fault *fault)
{
    if (call->common->json) {
        json_bool(json, "is_safe", false);
        json_text(json, "status", hr_status_name(status));
        json_text(json, "sentence", fault->text);
        return;
    }
    cli_output_append(call->out, "card ");
    cli_output_name(call->out, card);
    cli_output_append(call->out, ": ");
    cli_output_painted(call->out, CLI_BAD, "NOT SAFE to format:");
    cli_output_printf(call->out, " this cannot be told: %s\n", fault->text);
}

/* Was it proven safe? */
static bool check_card(const struct cli_call *call, struct json_writer *json, const char *card)
{
    struct hr_fault fault = {0};
    struct hr_safety *safety = NULL;
    const struct safe_settings *settings = call->settings;
    struct progress progress;
    struct look_shown shown = {.progress = &progress};
    const struct hr_look_observer look = {.context = &shown, .progress = look_show};
    progress_init(&progress, call->common->quiet ? PROGRESS_NONE : settings->progress,
                  cli_wants_colour(call->common, stderr), stderr);
    progress_remark(&progress, "looking at ", card);
    enum hr_status status = hr_safety_check(&safety, card, call->common->ledger, &look, call->cancel, &fault);
    if (status == HR_CANCELLED)
        snprintf(fault.text, sizeof fault.text, "stopped before all of it was looked at");
    progress_finish(&progress);
    if (call->common->json) {
        json_open(json, NULL, '{');
        json_name(json, "path", card);
    }
    if (status != HR_OK)
        show_fault(call, json, card, status, &fault);
    else if (call->common->json)
        safety_json_members(json, safety);
    else
        show_text(call, card, safety);
    if (call->common->json)
        json_close(json);
    bool is_safe = status == HR_OK && safety->is_safe;
    hr_safety_destroy(safety);
    return is_safe;
}

static enum cli_exit run(const struct cli_call *call)
{
    struct json_writer json;
    bool all_safe = true;
    json_start(&json, call->out, true);
    if (call->common->json) {
        json_open(&json, NULL, '{');
        json_number(&json, "schema", CLI_SCHEMA);
        json_text(&json, "document", "safe");
        json_open(&json, "cards", '[');
    }
    for (size_t i = 0; i < call->operands.count && !hr_cancel_requested(call->cancel); i++)
        all_safe = check_card(call, &json, call->operands.items[i]) && all_safe;
    if (call->common->json) {
        json_close(&json);
        json_bool(&json, "all_safe", all_safe && !hr_cancel_requested(call->cancel));
        json_close(&json);
        json_end(&json);
    } else if (!call->common->quiet) {
        cli_output_append(call->out, caution);
    }
    return all_safe ? CLI_DONE : CLI_FAILED;
}

const struct cli_command cli_safe = {
    .name = "safe",
    .summary = "may this card be formatted?",
    .about = "Walks the card now and looks every file up among the proven copies. Safe means:\n"
             "every file has verified copies on at least two different drives.",
    .usage = "CARD...",
    .examples = "  headrace safe /media/A /media/B\n"
                "  headrace safe /media/A --quiet && echo 'format it in the camera'\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .operand = "CARD",
    .operands_min = 1,
    .operands_max = HR_CARDS_MAX,
    .completes = CLI_COMPLETES_FILES,
    .is_long = true,
    .settings_size = sizeof(struct safe_settings),
    .run = run,
};
