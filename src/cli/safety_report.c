/* SPDX-License-Identifier: ISC */
/* The answer to "may this card be formatted?", shared by offload and safe. */
#include "cli/offload_report.h"
#include "cli/when.h"

static void drive(struct json_writer *json, const struct hr_safety_drive *row)
{
    char when[CLI_WHEN_SIZE];
    json_open(json, NULL, '{');
    json_name(json, "name", row->name);
    json_lines(json, "disks", row->disks);
    json_number(json, "files", row->files);
    json_number(json, "not_from_medium", row->not_from_medium);
    if (row->last_proven_ns)
        json_text(json, "last_proven", cli_when_utc(when, row->last_proven_ns));
    else
        json_null(json, "last_proven");
    json_bool(json, "is_connected", row->is_connected);
    json_bool(json, "counts", row->counts);
    json_close(json);
}

void safety_json_members(struct json_writer *json, const struct hr_safety *safety)
{
    json_bool(json, "is_safe", safety->is_safe);
    json_text(json, "sentence", safety->sentence);
    json_number(json, "files", safety->files);
    json_number(json, "frames", safety->frames);
    json_number(json, "bytes", safety->bytes);
    json_number(json, "on_two_or_more", safety->on_two_or_more);
    json_number(json, "on_one", safety->on_one);
    json_number(json, "on_none", safety->on_none);
    json_number(json, "not_carried", safety->not_carried);
    json_open(json, "drives", '[');
    for (size_t i = 0; i < safety->drive_count; i++)
        drive(json, &safety->drives[i]);
    json_close(json);
    json_open(json, "short_files", '[');
    for (size_t i = 0; i < safety->short_file_count; i++)
        json_name(json, NULL, safety->short_files[i]);
    json_close(json);
}

void safety_text_sentence(struct cli_output *out, const char *card, const struct hr_safety *safety)
{
    cli_output_append(out, "card ");
    cli_output_name(out, card);
    cli_output_append(out, ": ");
    cli_output_painted(out, safety->is_safe ? CLI_GOOD : CLI_BAD, safety->sentence);
    cli_output_append(out, "\n");
}
