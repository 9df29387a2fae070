/* SPDX-License-Identifier: ISC */
#include <stdlib.h>

#include "base/units.h"
#include "cli/cli.h"
#include "cli/forecast_report.h"
#include "cli/offload_options.h"
#include "cli/until.h"

struct forecast_settings {
    struct cli_common common;
    struct offload_wish wish;
    int progress;
};

static const struct cli_option options[] = {
    OFFLOAD_OPTIONS(struct forecast_settings, wish),
    CLI_PROGRESS_OPTION(struct forecast_settings),
    CLI_LEDGER_OPTION(struct forecast_settings),
    CLI_COMMON_OPTIONS(struct forecast_settings),
};

/* Looking at the cards may have taken minutes of it. */
static enum hr_status ask_by(struct forecast_by *by, const struct hr_offload *offload, struct hr_fault *fault)
{
    double left_s = (double)(by->wall_ns - cli_until_now_ns()) / HR_NS_PER_S;
    enum hr_status status = hr_offload_fits(&by->fits, offload, left_s, fault);
    return status ? status : hr_offload_fits_sequences(&by->sequences, &by->sequence_count, offload, left_s, fault);
}

static enum cli_exit answer(const struct cli_call *call, const struct hr_offload *offload, int64_t asked_wall_ns)
{
    const struct forecast_settings *settings = call->settings;
    const struct hr_offload_plan *plan = hr_offload_plan(offload);
    struct forecast_by by = {.deadline_s = settings->wish.by_s,
                             .wall_ns = asked_wall_ns + (int64_t)(settings->wish.by_s * HR_NS_PER_S)};
    struct hr_fault fault = {0};
    for (size_t i = 0; i < plan->warning_count && !call->common->quiet; i++)
        cli_complain("warning: %s", plan->warnings[i]);
    if (plan->refusal_count)
        return offload_show_refusals(plan);
    if (by.deadline_s > 0 && ask_by(&by, offload, &fault) != HR_OK)
        return offload_exit(fault.status, &fault);
    if (call->common->json) {
        struct json_writer json;
        json_start(&json, call->out, true);
        forecast_json(&json, plan, &by);
    } else {
        forecast_text(call->out, plan, &by, call->common->quiet);
    }
    free(by.sequences);
    return CLI_DONE;
}

static enum cli_exit run(const struct cli_call *call)
{
    const struct forecast_settings *settings = call->settings;
    int64_t asked_wall_ns = cli_until_now_ns();
    enum cli_exit code = offload_wish_check(call, &settings->wish);
    if (code != CLI_DONE)
        return code;
    struct progress progress;
    struct look_shown look = {.progress = &progress};
    struct hr_fault fault = {0};
    const struct hr_offload_options wanted = offload_wish_options(call, &settings->wish, &look);
    struct hr_offload *offload = NULL;
    progress_init(&progress, call->common->quiet ? PROGRESS_NONE : settings->progress,
                  cli_wants_colour(call->common, stderr), stderr);
    progress_remark(&progress, "looking at ", call->operands.items[0]);
    enum hr_status status = hr_offload_prepare(&offload, &wanted, call->cancel, &fault);
    progress_finish(&progress);
    code = status == HR_OK ? answer(call, offload, asked_wall_ns) : offload_exit(status, &fault);
    hr_offload_destroy(offload);
    return code;
}

const struct cli_command cli_forecast = {
    .name = "forecast",
    .summary = "how long copying takes, and what fits before a deadline",
    .about = "Says how long an offload of these cards to these places will take, what holds it\n"
             "up, what would be faster, and what is verified by a deadline. Writes nothing.\n"
             "Speeds are those measured, or seen in earlier runs.",
    .usage = "CARD... --to PLACE [--to PLACE]...",
    .examples = "  headrace forecast /media/A --to /mnt/ssd --to /mnt/backup\n"
                "  headrace forecast /media/A /media/B --to /mnt/ssd --by 12min --first rated\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .operand = "CARD",
    .operands_min = 1,
    .operands_max = HR_CARDS_MAX,
    .completes = CLI_COMPLETES_FILES,
    .is_long = true,
    .settings_size = sizeof(struct forecast_settings),
    .run = run,
};
