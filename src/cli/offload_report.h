/* SPDX-License-Identifier: ISC */
/* Plan, events and result of an offload, for a person and as JSON (man page headrace-offload). */
#ifndef HR_CLI_OFFLOAD_REPORT_H
#define HR_CLI_OFFLOAD_REPORT_H

#include <headrace/offload.h>

#include "cli/json_writer.h"
#include "cli/offload_sequences.h"

/* ---- for a person ---- */
void offload_text_plan(struct cli_output *out, const struct hr_offload_plan *plan);
/* `quiet`: one sentence a card. */
void offload_text_result(struct cli_output *out, const struct hr_offload_result *result, bool quiet);
/* "SAFE to format: ..." in green, "NOT SAFE ..." in red. */
void safety_text_sentence(struct cli_output *out, const char *card, const struct hr_safety *safety);

/* ---- JSON ---- */
/* Whole documents. `sequences` is NULL when they were not asked for. */
void offload_json_plan(struct json_writer *json, const struct hr_offload_plan *plan);
void offload_json_result(struct json_writer *json, const struct hr_offload_plan *plan,
                         const struct hr_offload_result *result, bool was_interrupted,
                         const struct offload_sequences *sequences);
/* One line each. */
void offload_json_event(struct json_writer *json, const struct hr_offload_plan *plan,
                        const struct hr_offload_event *event);
void offload_json_progress(struct json_writer *json, const struct hr_offload_plan *plan,
                           const struct hr_offload_progress *progress);
/* The members of an open object. */
void safety_json_members(struct json_writer *json, const struct hr_safety *safety);

#endif
