/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include "cli/cli.h"
#include "cli/measure_report.h"
#include "cli/plot_file.h"
#include "cli/progress.h"

struct measure_settings {
    struct cli_common common;
    bool sustained, compare;
    double seconds;
    const char *plot;
    int progress;
};

static const struct cli_option options[] = {
    {.name = "sustained",
     .kind = CLI_FLAG,
     .at = offsetof(struct measure_settings, sustained),
     .help = "write on until a fast write cache ends"},
    {.name = "compare",
     .kind = CLI_FLAG,
     .at = offsetof(struct measure_settings, compare),
     .help = "two or more paths side by side"},
    {.name = "plot",
     .kind = CLI_TEXT,
     .completes = CLI_COMPLETES_FILES,
     .at = offsetof(struct measure_settings, plot),
     .argument = "FILE.svg",
     .help = "draw them as bars; a new file"},
    {.name = "seconds",
     .kind = CLI_SECONDS,
     .at = offsetof(struct measure_settings, seconds),
     .argument = "N",
     .help = "measure each direction for at most N; else 4"},
    CLI_PROGRESS_OPTION(struct measure_settings),
    CLI_LEDGER_OPTION(struct measure_settings),
    CLI_COMMON_OPTIONS(struct measure_settings),
};

static const char caution[] =
    "\nThis is how fast it was now, by this port and cable.\nA full, warm or worn one is slower.\n";
static const char stopping[] = "stopping; what was written to measure is removed";

struct measuring {
    const struct cli_call *call;
    const struct measure_settings *settings;
    struct progress progress;
    struct json_writer json;
    struct measure_table table;
    struct hr_measurement *measurements[MEASURE_PATHS_MAX]; /* owned, those of the table */
    const char *path;
    int64_t shown_ns;
    bool has_failed;
};

/* The library tells every fifth of a second, if not less often: counting these is clock enough. */
static void on_progress(void *context, enum hr_direction direction, double bytes_per_s, uint64_t bytes)
{
    enum { TOLD_EVERY_NS = 200 * 1000 * 1000 };
    struct measuring *measuring = context;
    const struct measure_view view = {
        .path = measuring->path, .direction = direction, .bytes_per_s = bytes_per_s, .bytes = bytes};
    measuring->shown_ns += TOLD_EVERY_NS;
    progress_note_stop(&measuring->progress, stopping);
    if (!progress_is_due(&measuring->progress, measuring->shown_ns))
        return;
    measure_draw(&measuring->progress.frame, &view, &measuring->progress.style);
    progress_show(&measuring->progress);
}

static void show(struct measuring *measuring, const struct measure_row *row)
{
    const struct cli_call *call = measuring->call;
    if (call->common->json)
        measure_json(&measuring->json, row);
    else if (!measuring->settings->compare)
        measure_text(call->out, row, call->common->quiet);
    cli_output_flush(call->out);
}

/* The ledger is a memory: what was measured is right even when it cannot be remembered. */
static void keep(struct measuring *measuring, struct hr_measurement *measurement, bool is_card)
{
    struct hr_fault fault = {0};
    struct measure_table *table = &measuring->table;
    if (hr_measurement_note(measurement, measuring->call->common->ledger, &fault) != HR_OK)
        progress_note(&measuring->progress, "headrace: the ledger was not told: %s", fault.text);
    measuring->measurements[table->count] = measurement;
    table->rows[table->count] = (struct measure_row){.measurement = measurement, .is_card = is_card};
    show(measuring, &table->rows[table->count++]);
}

static void tell_failure(struct measuring *measuring, enum hr_status status, const struct hr_fault *fault)
{
    measuring->has_failed = true;
    if (measuring->call->common->json) {
        json_text(&measuring->json, "status", hr_status_name(status));
        json_text(&measuring->json, "sentence", fault->text);
    } else if (status != HR_CANCELLED) {
        cli_complain("%s", fault->text);
    }
}

static void measure_path(struct measuring *measuring, const char *path)
{
    const struct measure_settings *settings = measuring->settings;
    struct hr_fault fault = {0};
    struct hr_measurement *measurement = NULL;
    const struct hr_measure_options how = {.is_card = hr_path_has_dcim(path),
                                           .is_sustained = settings->sustained,
                                           .seconds_max = settings->seconds,
                                           .context = measuring,
                                           .progress = on_progress};
    measuring->path = path;
    progress_remark(&measuring->progress, how.is_card ? "reading " : "writing and reading back ", path);
    if (measuring->call->common->json) {
        json_open(&measuring->json, NULL, '{');
        json_name(&measuring->json, "path", path);
    }
    enum hr_status status = hr_measure(&measurement, path, &how, measuring->call->cancel, &fault);
    progress_note_stop(&measuring->progress, stopping);
    progress_erase(&measuring->progress);
    if (status == HR_OK)
        keep(measuring, measurement, how.is_card);
    else
        tell_failure(measuring, status, &fault);
    if (measuring->call->common->json)
        json_close(&measuring->json);
}

static void begin_json(struct json_writer *json)
{
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "measure");
    json_open(json, "paths", '[');
}

static void end_json(struct json_writer *json)
{
    json_close(json);
    json_close(json);
    json_end(json);
}

static enum cli_exit check_settings(const struct cli_call *call)
{
    const struct measure_settings *settings = call->settings;
    if (settings->compare && call->operands.count < 2)
        return cli_complain_usage(call->command, "--compare wants two paths or more");
    return CLI_DONE;
}

static void conclude(struct measuring *measuring)
{
    const struct cli_call *call = measuring->call;
    const struct measure_settings *settings = measuring->settings;
    if (call->common->json)
        end_json(&measuring->json);
    else if (settings->compare && measuring->table.count)
        measure_text_compare(call->out, &measuring->table);
    if (!call->common->json && !call->common->quiet && measuring->table.count)
        cli_output_append(call->out, caution);
    if (settings->plot && measuring->table.count && !hr_cancel_requested(call->cancel) &&
        !plot_file_write(settings->plot, measure_svg, &measuring->table))
        measuring->has_failed = true;
}

static enum cli_exit run(const struct cli_call *call)
{
    struct measuring measuring = {.call = call, .settings = call->settings};
    if (check_settings(call) != CLI_DONE)
        return CLI_USAGE;
    json_start(&measuring.json, call->out, true);
    progress_init(&measuring.progress, call->common->quiet ? PROGRESS_NONE : measuring.settings->progress,
                  cli_wants_colour(call->common, stderr), stderr);
    if (call->common->json)
        begin_json(&measuring.json);
    for (size_t i = 0; i < call->operands.count && !hr_cancel_requested(call->cancel); i++)
        measure_path(&measuring, call->operands.items[i]);
    progress_finish(&measuring.progress);
    conclude(&measuring);
    for (size_t i = 0; i < measuring.table.count; i++)
        hr_measurement_destroy(measuring.measurements[i]);
    return measuring.has_failed || hr_cancel_requested(call->cancel) ? CLI_FAILED : CLI_DONE;
}

const struct cli_command cli_measure = {
    .name = "measure",
    .summary = "how fast a card, reader or drive is",
    .about = "Measures what a card or drive does now, without harming it. A card, a folder\n"
             "with DCIM in it, is only read. In any other, files are written, read back and\n"
             "removed. Speeds go into the ledger, where forecasts take them from.",
    .usage = "PATH...",
    .examples = "  headrace measure /media/A\n"
                "  headrace measure /mnt/ssd --sustained\n"
                "  headrace measure /media/A /media/B --compare --plot cards.svg\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .operand = "PATH",
    .operands_min = 1,
    .operands_max = MEASURE_PATHS_MAX,
    .completes = CLI_COMPLETES_FOLDERS,
    .is_long = true,
    .settings_size = sizeof(struct measure_settings),
    .run = run,
};
