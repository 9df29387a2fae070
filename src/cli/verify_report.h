/* SPDX-License-Identifier: ISC */
/* What verify found, for a person and as JSON (man page headrace-verify). */
#ifndef HR_CLI_VERIFY_REPORT_H
#define HR_CLI_VERIFY_REPORT_H

#include <headrace/bag.h>

#include "cli/json_writer.h"

/* `quiet`: one line. */
void verify_text_bag(struct cli_output *out, const struct hr_bag_report *report, bool quiet);

/* The last line: how many are right, where there were several. */
void verify_text_sum(struct cli_output *out, size_t right, size_t all);

void verify_json_begin(struct json_writer *json);
void verify_json_bag(struct json_writer *json, const struct hr_bag_report *report);
void verify_json_end(struct json_writer *json, bool all_valid);

#endif
