/* SPDX-License-Identifier: ISC */
/* What is plugged in, as text and as JSON (man page headrace-devices). */
#ifndef HR_CLI_DEVICES_REPORT_H
#define HR_CLI_DEVICES_REPORT_H

#include "cli/devices_speeds.h"
#include "cli/json_writer.h"

/* What it can carry and where it is mounted; then, unless `is_quiet`, what it is and what was measured; warnings. */
void devices_text(struct cli_output *out, const struct hr_device *device, const struct devices_speeds *speeds,
                  bool is_quiet);
/* A member of an open array. */
void devices_json(struct json_writer *json, const struct hr_device *device, const struct devices_speeds *speeds);

#endif
