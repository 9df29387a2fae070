/* SPDX-License-Identifier: ISC */
/* Past runs as a table, as CSV and as JSON (man page headrace-log). */
#ifndef HR_CLI_LOG_REPORT_H
#define HR_CLI_LOG_REPORT_H

#include "cli/json_writer.h"
#include "cli/run_history.h"

/* ---- many runs, newest first, one call a run ---- */
struct log_table {
    struct cli_output *out;
    bool has_heading;
};
void log_table_row(struct log_table *table, const struct hr_ledger_run *run);
/* The first of its two lines alone. */
void log_table_facts(struct log_table *table, const struct hr_ledger_run *run);
void log_csv_heading(struct cli_output *out);
void log_csv_row(struct cli_output *out, const struct hr_ledger_run *run);
/* The members of an open object. */
void log_json_run(struct json_writer *json, const struct hr_ledger_run *run);

/* ---- one run ---- */
void log_text_details(struct cli_output *out, const struct run_history *history);
void log_csv_samples(struct cli_output *out, const struct run_history *history);
void log_json_details(struct json_writer *json, const struct run_history *history);

#endif
