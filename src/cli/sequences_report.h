/* SPDX-License-Identifier: ISC */
/* Bursts and sequences for a person and as JSON (man page headrace-sequences). */
#ifndef HR_CLI_SEQUENCES_REPORT_H
#define HR_CLI_SEQUENCES_REPORT_H

#include "cli/json_writer.h"
#include "cli/sequences_facts.h"

/* ---- for a person ---- */
/* `blocks`: bars of block characters, else of '#'. */
void sequences_text(struct cli_output *out, const struct sequences_found *found, bool blocks);
/* What was found in one line; below it only what failed. */
void sequences_text_line(struct cli_output *out, const struct sequences_found *found);
/* A few lines: what was found, where the folders are, and what failed. */
void sequences_text_summary(struct cli_output *out, const struct sequences_found *found);

/* ---- JSON ---- */
/* A whole document. */
void sequences_json(struct json_writer *json, const struct sequences_found *found);
/* Counts and folders: the members of an open object. */
void sequences_json_summary(struct json_writer *json, const struct sequences_found *found);

#endif
