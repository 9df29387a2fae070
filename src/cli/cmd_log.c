/* SPDX-License-Identifier: ISC */
#include <inttypes.h>
#include <stdio.h>

#include <headrace/ledger.h>

#include "base/checked.h"
#include "base/units.h"
#include "cli/cli.h"
#include "cli/log_report.h"
#include "cli/plot_file.h"
#include "cli/plot_svg.h"

enum { LIMIT_DEFAULT = 20 };

struct log_settings {
    struct cli_common common;
    uint64_t limit;
    const char *plot;
    bool csv;
};

static const struct cli_option options[] = {
    {.name = "limit",
     .kind = CLI_NUMBER,
     .at = offsetof(struct log_settings, limit),
     .argument = "N",
     .help = "show the newest N runs; else 20"},
    {.name = "csv",
     .kind = CLI_FLAG,
     .at = offsetof(struct log_settings, csv),
     .help = "comma-separated values; of a run its samples"},
    {.name = "plot",
     .kind = CLI_TEXT,
     .completes = CLI_COMPLETES_FILES,
     .at = offsetof(struct log_settings, plot),
     .argument = "FILE.svg",
     .help = "draw the rates of RUN, else of the newest; a new file"},
    CLI_LEDGER_OPTION(struct log_settings),
    CLI_COMMON_OPTIONS(struct log_settings),
};

static enum cli_exit complain(const struct hr_fault *fault)
{
    cli_complain("%s", fault->text);
    return CLI_FAILED;
}

/* ---- many runs ---- */

struct listing {
    const struct cli_call *call;
    bool csv;
    struct log_table table;
    struct json_writer json;
};

static bool list_run(void *context, const struct hr_ledger_run *run)
{
    struct listing *listing = context;
    if (listing->call->common->json) {
        json_open(&listing->json, NULL, '{');
        log_json_run(&listing->json, run);
        json_close(&listing->json);
    } else if (listing->csv) {
        log_csv_row(listing->call->out, run);
    } else {
        log_table_row(&listing->table, run);
    }
    return true;
}

static void begin_json(struct json_writer *json, struct cli_output *out)
{
    json_start(json, out, true);
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "log");
    json_open(json, "runs", '[');
}

static void end_json(struct json_writer *json)
{
    json_close(json);
    json_close(json);
    json_end(json);
}

static enum cli_exit list_runs(const struct cli_call *call, struct hr_ledger *ledger)
{
    const struct log_settings *settings = call->settings;
    struct hr_fault fault = {0};
    /* --quiet: no heading */
    struct listing listing = {
        .call = call, .csv = settings->csv, .table = {.out = call->out, .has_heading = call->common->quiet}};
    size_t limit = settings->limit ? (size_t)settings->limit : LIMIT_DEFAULT;
    if (call->common->json)
        begin_json(&listing.json, call->out);
    else if (settings->csv)
        log_csv_heading(call->out);
    enum hr_status status = hr_ledger_runs(ledger, 0, limit, list_run, &listing, &fault);
    if (call->common->json)
        end_json(&listing.json);
    return status == HR_OK ? CLI_DONE : complain(&fault);
}

/* ---- one run ---- */

static bool take_run(void *context, const struct hr_ledger_run *run)
{
    history_take_run(context, run);
    return true;
}

static bool take_sample(void *context, const struct hr_ledger_sample *sample)
{
    struct run_history *history = context;
    history_take_sample(history, sample);
    return !history->is_short_of_memory;
}

static void draw(struct hr_text *out, const void *history)
{
    plot_svg(out, history);
}

static void show_run(const struct cli_call *call, const struct run_history *history)
{
    const struct log_settings *settings = call->settings;
    struct json_writer json;
    if (call->common->json) {
        begin_json(&json, call->out);
        json_open(&json, NULL, '{');
        log_json_details(&json, history);
        json_close(&json);
        end_json(&json);
    } else if (settings->csv) {
        log_csv_samples(call->out, history);
    } else {
        log_text_details(call->out, history);
    }
}

static enum cli_exit plot_or_show(const struct cli_call *call, const struct run_history *history)
{
    const struct log_settings *settings = call->settings;
    if (history->is_short_of_memory) {
        cli_complain("no memory for the run's samples");
        return CLI_FAILED;
    }
    if (settings->plot && !history->has_moved) {
        cli_complain("run %" PRId64 " moved nothing: there is nothing to draw", history->run.id);
        return CLI_FAILED;
    }
    if (settings->plot)
        return plot_file_write(settings->plot, draw, history) ? CLI_DONE : CLI_FAILED;
    show_run(call, history);
    return CLI_DONE;
}

/* `id` 0: the newest. */
static enum cli_exit show_one(const struct cli_call *call, struct hr_ledger *ledger, int64_t id)
{
    struct hr_fault fault = {0};
    struct run_history history;
    history_init(&history);
    enum hr_status status = hr_ledger_runs(ledger, id, 1, take_run, &history, &fault);
    if (status == HR_OK && history.run.id)
        status = hr_ledger_samples(ledger, history.run.id, take_sample, &history, &fault);
    history_close(&history);
    enum cli_exit code;
    if (status != HR_OK)
        code = complain(&fault);
    else if (history.run.id == 0)
        code = (cli_complain("no run is known yet"), CLI_FAILED);
    else
        code = plot_or_show(call, &history);
    history_finish(&history);
    return code;
}

static enum cli_exit run(const struct cli_call *call)
{
    const struct log_settings *settings = call->settings;
    uint64_t id = 0;
    if (call->operands.count && (!hr__parse_u64(&id, call->operands.items[0], INT64_MAX) || id == 0))
        return cli_complain_usage(call->command, "RUN is a number of 'headrace log'");
    if (settings->csv && call->common->json)
        return cli_complain_usage(call->command, "--csv or --json, not both");
    struct hr_fault fault = {0};
    struct hr_ledger *ledger = NULL;
    if (hr_ledger_open_read_only(&ledger, call->common->ledger, &fault) != HR_OK)
        return complain(&fault);
    enum cli_exit code = id || settings->plot ? show_one(call, ledger, (int64_t)id) : list_runs(call, ledger);
    hr_ledger_close(ledger);
    return code;
}

const struct cli_command cli_log = {
    .name = "log",
    .summary = "past runs, how fast each stage was, what held them up",
    .about = "Shows past runs, or of one run how fast every stage was and which one held it\n"
             "up.",
    .usage = "[RUN]",
    .examples = "  headrace log\n"
                "  headrace log 12\n"
                "  headrace log 12 --plot northmere-final.svg\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .operand = "RUN",
    .operands_max = 1,
    .settings_size = sizeof(struct log_settings),
    .run = run,
};
