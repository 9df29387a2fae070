/* SPDX-License-Identifier: ISC */
/* What is foreseen, for a person and as JSON (man page headrace-forecast). */
#ifndef HR_CLI_FORECAST_REPORT_H
#define HR_CLI_FORECAST_REPORT_H

#include <headrace/offload.h>

#include "cli/json_writer.h"

/* What is asked to be done by a moment. */
struct forecast_by {
    double deadline_s; /* from when it was asked; 0: nothing is */
    int64_t wall_ns;   /* the same moment */
    struct hr_fits fits;
    struct hr_fits_sequence *sequences; /* owned by who asked */
    size_t sequence_count;
};

/* "the card /media/A", escaped. */
void forecast_text_stage(struct cli_output *out, const struct hr_offload_plan *plan,
                         const struct hr_forecast_stage *stage);
/* One line of a plan: "about 4 min 10 s to verified, 3 min 20 s to 5 min 00 s; the card /media/A holds it up". */
void forecast_text_line(struct cli_output *out, const struct hr_offload_plan *plan);
/* The whole answer. `quiet`: its first line. */
void forecast_text(struct cli_output *out, const struct hr_offload_plan *plan, const struct forecast_by *by,
                   bool quiet);

/* The members of an open object. */
void forecast_json_members(struct json_writer *json, const struct hr_offload_plan *plan);
/* A whole document. */
void forecast_json(struct json_writer *json, const struct hr_offload_plan *plan, const struct forecast_by *by);

#endif
