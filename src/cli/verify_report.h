/* SPDX-License-Identifier: ISC */
/* What verify found, for a person and as JSON (man page headrace-verify). */
#ifndef HR_CLI_VERIFY_REPORT_H
#define HR_CLI_VERIFY_REPORT_H

#include <headrace/bag.h>

#include "cli/json_writer.h"

/* `quiet`: one line. */
void verify_text_bag(struct cli_output *out, const struct hr_bag_report *report, bool quiet);

struct verify_sum {
    size_t bags, right;
    size_t folders, folders_unchecked; /* asked for; without a bag, or it could not be seen whether there is one */
};
bool verify_is_right(const struct verify_sum *sum);
/* The last line, where there were several: RIGHT only when all that was asked for is. */
void verify_text_sum(struct cli_output *out, const struct verify_sum *sum);

void verify_json_begin(struct json_writer *json);
void verify_json_bag(struct json_writer *json, const struct hr_bag_report *report);
/* A bag, or a folder that was asked for, of which nothing can be told but why. */
void verify_json_unchecked(struct json_writer *json, const char *path, enum hr_status status,
                           const struct hr_fault *fault);
void verify_json_end(struct json_writer *json, bool all_valid);

#endif
