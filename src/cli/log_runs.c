/* SPDX-License-Identifier: ISC */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/csv.h"
#include "base/units.h"
#include "cli/log_report.h"
#include "cli/when.h"

enum { NUMBER_SIZE = 24 };

static double mean_rate(const struct hr_ledger_run *run)
{
    return run->elapsed_ns > 0 ? (double)run->bytes * (double)HR_NS_PER_S / (double)run->elapsed_ns : 0;
}

static const char *outcome_of(const struct hr_ledger_run *run)
{
    return *run->outcome ? run->outcome : "not ended";
}

/* One a line becomes one after the other. */
static void put_list(struct cli_output *out, const char *lines)
{
    while (*lines) {
        size_t size = strcspn(lines, "\n");
        cli_output_append(out, " ");
        cli_output_name_bytes(out, lines, size);
        lines += size + (lines[size] == '\n');
    }
}

void log_table_facts(struct log_table *table, const struct hr_ledger_run *run)
{
    char when[CLI_WHEN_SIZE], files[HR_UNIT_TEXT_SIZE], bytes[HR_UNIT_TEXT_SIZE], outcome[HR_UNIT_TEXT_SIZE];
    char time[HR_UNIT_TEXT_SIZE] = "-";
    struct cli_output *out = table->out;
    if (!table->has_heading)
        cli_output_painted(out, CLI_STRONG,
                           " run  outcome    when                 files        size          time   MB/s\n");
    table->has_heading = true;
    if (run->elapsed_ns >= 0)
        hr__format_duration(time, run->elapsed_ns);
    snprintf(outcome, sizeof outcome, "%-9s", outcome_of(run));
    cli_output_printf(out, "%4" PRId64 "  ", run->id);
    cli_output_painted(out, strcmp(run->outcome, "safe") == 0 ? CLI_GOOD : CLI_BAD, outcome);
    cli_output_printf(out, "  %s  %8s  %10s  %12s  %5.0f\n", cli_when_local(when, run->started_wall_ns),
                      hr__format_count(files, run->files), hr__format_bytes(bytes, run->bytes), time,
                      mean_rate(run) / 1e6);
}

/* Two lines a run: the facts in columns, then what was carried where. */
void log_table_row(struct log_table *table, const struct hr_ledger_run *run)
{
    struct cli_output *out = table->out;
    log_table_facts(table, run);
    cli_output_append(out, "      ");
    cli_output_name(out, run->job);
    cli_output_append(out, ":");
    put_list(out, run->cards);
    cli_output_append(out, " to");
    put_list(out, run->places);
    cli_output_append(out, "\n");
}

static void put_csv(struct cli_output *out, const char *const *fields, size_t count)
{
    struct hr_text row;
    hr__text_init(&row, 1024 * 1024);
    hr__csv_append_row(&row, fields, count);
    cli_output_append(out, row.bytes);
    out->text.broken |= row.broken;
    hr__text_finish(&row);
}

void log_csv_heading(struct cli_output *out)
{
    cli_output_append(out, "run,started,elapsed_ns,job,host,cards,places,files,bytes,failed_files,outcome\n");
}

void log_csv_row(struct cli_output *out, const struct hr_ledger_run *run)
{
    char id[NUMBER_SIZE], started[CLI_WHEN_SIZE], elapsed[NUMBER_SIZE], files[NUMBER_SIZE], bytes[NUMBER_SIZE];
    char failed[NUMBER_SIZE];
    const char *const names[] = {run->job, run->host, run->cards, run->places};
    struct hr_text escaped[4];
    for (size_t i = 0; i < 4; i++) {
        hr__text_init(&escaped[i], 64 * 1024);
        hr__text_append_name(&escaped[i], names[i], strlen(names[i]));
    }
    snprintf(id, sizeof id, "%" PRId64, run->id);
    snprintf(elapsed, sizeof elapsed, "%" PRId64, run->elapsed_ns);
    snprintf(files, sizeof files, "%" PRIu64, run->files);
    snprintf(bytes, sizeof bytes, "%" PRIu64, run->bytes);
    snprintf(failed, sizeof failed, "%" PRIu64, run->failed_files);
    const char *const fields[] = {id,
                                  cli_when_utc(started, run->started_wall_ns),
                                  elapsed,
                                  escaped[0].bytes,
                                  escaped[1].bytes,
                                  escaped[2].bytes,
                                  escaped[3].bytes,
                                  files,
                                  bytes,
                                  failed,
                                  outcome_of(run)};
    put_csv(out, fields, sizeof fields / sizeof *fields);
    for (size_t i = 0; i < 4; i++) {
        out->text.broken |= escaped[i].broken;
        hr__text_finish(&escaped[i]);
    }
}

void log_json_run(struct json_writer *json, const struct hr_ledger_run *run)
{
    char when[CLI_WHEN_SIZE];
    json_signed(json, "run", run->id);
    json_text(json, "started", cli_when_utc(when, run->started_wall_ns));
    if (run->elapsed_ns < 0)
        json_null(json, "elapsed_ns");
    else
        json_signed(json, "elapsed_ns", run->elapsed_ns);
    json_name(json, "job", run->job);
    json_name(json, "host", run->host);
    json_lines(json, "cards", run->cards);
    json_lines(json, "places", run->places);
    json_number(json, "files", run->files);
    json_number(json, "bytes", run->bytes);
    json_number(json, "failed_files", run->failed_files);
    json_rate(json, "mean_bytes_per_s", mean_rate(run));
    json_text(json, "outcome", outcome_of(run));
    json_lines(json, "policies", run->policies);
}
