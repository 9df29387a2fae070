/* SPDX-License-Identifier: ISC */
#include "cli/verify_report.h"

#include <stdio.h>
#include <string.h>

#include "base/units.h"

static bool is_valid(const struct hr_bag_report *report)
{
    return report->verdict == HR_BAG_VALID || report->verdict == HR_BAG_VALID_WITH_WARNINGS;
}

static void show_problem(struct cli_output *out, const struct hr_bag_problem *problem)
{
    cli_output_printf(out, "  %s: ", hr_bag_problem_name(problem->kind));
    if (problem->path[0]) {
        cli_output_name(out, problem->path);
        cli_output_append(out, ": ");
    }
    cli_output_printf(out, "%s\n", problem->text);
}

static const char *verdict_word(enum hr_bag_verdict verdict)
{
    static const char *const words[] = {
        [HR_BAG_VALID] = "RIGHT",
        [HR_BAG_VALID_WITH_WARNINGS] = "RIGHT, with warnings",
        [HR_BAG_INVALID] = "NOT RIGHT",
        [HR_BAG_UNFINISHED] = "NOT FINISHED",
    };
    return words[verdict];
}

static size_t count_payload(const struct hr_bag_report *report, enum hr_bag_problem_kind kind)
{
    size_t count = 0;
    for (size_t i = 0; i < report->problem_count; i++)
        count += report->problems[i].kind == kind && strncmp(report->problems[i].path, "data/", 5) == 0;
    return count;
}

/* What was put into the bag later, by another computer say, is no harm to what stands there. */
static void show_remedy(struct cli_output *out, const struct hr_bag_report *report)
{
    size_t lost = count_payload(report, HR_BAG_FILE_MISSING) + count_payload(report, HR_BAG_FILE_DIFFERS) +
                  count_payload(report, HR_BAG_FILE_UNREADABLE);
    if (report->verdict == HR_BAG_UNFINISHED)
        cli_output_append(out, "  the same offload again finishes it\n");
    else if (report->verdict == HR_BAG_INVALID && lost > 0)
        cli_output_append(out, "  take such files from another copy, or offload the card again\n");
    else if (report->verdict == HR_BAG_INVALID && count_payload(report, HR_BAG_FILE_UNLISTED) > 0)
        cli_output_append(out,
                          "  no file of the card is harmed: what is not listed came later, move it out of data/\n");
}

void verify_text_bag(struct cli_output *out, const struct hr_bag_report *report, bool quiet)
{
    char a[HR_UNIT_TEXT_SIZE], b[HR_UNIT_TEXT_SIZE], c[HR_UNIT_TEXT_SIZE];
    cli_output_painted(out, is_valid(report) ? CLI_GOOD : CLI_BAD, verdict_word(report->verdict));
    cli_output_append(out, "  ");
    cli_output_name(out, report->path);
    cli_output_append(out, "\n");
    if (quiet && is_valid(report))
        return;
    size_t files = report->payload_files + count_payload(report, HR_BAG_FILE_MISSING);
    if (!quiet)
        cli_output_printf(out, "  %s of %s proven, %s in %s, %s\n", hr__format_count(a, report->proof_count),
                          hr__format_counted(b, files, "file"), hr__format_bytes(c, report->payload_bytes),
                          hr__format_duration((char[HR_UNIT_TEXT_SIZE]){0}, report->elapsed_ns),
                          report->from_medium ? "verified from the medium" : "verified (not from the medium)");
    for (size_t i = 0; i < report->problem_count; i++)
        if (!quiet || report->problems[i].kind != HR_BAG_WARNING)
            show_problem(out, &report->problems[i]);
    if (!quiet)
        show_remedy(out, report);
}

bool verify_is_right(const struct verify_sum *sum)
{
    return sum->right == sum->bags && sum->folders_unchecked == 0;
}

void verify_text_sum(struct cli_output *out, const struct verify_sum *sum)
{
    char count[HR_UNIT_TEXT_SIZE], all[HR_UNIT_TEXT_SIZE];
    size_t wrong = sum->bags - sum->right;
    if (sum->bags + sum->folders_unchecked < 2)
        return;
    if (verify_is_right(sum)) {
        cli_output_painted(out, CLI_GOOD, "RIGHT:");
        cli_output_printf(out, " all %s\n", hr__format_counted(all, sum->bags, "bag"));
        return;
    }
    cli_output_painted(out, CLI_BAD, "NOT RIGHT:");
    if (wrong)
        cli_output_printf(out, " %s of %s", hr__format_count(count, wrong), hr__format_counted(all, sum->bags, "bag"));
    if (sum->folders_unchecked)
        cli_output_printf(out, "%s nothing was checked in %s of %s", wrong ? ";" : "",
                          hr__format_count(count, sum->folders_unchecked),
                          hr__format_counted(all, sum->folders, "folder"));
    cli_output_append(out, "\n");
}

void verify_json_begin(struct json_writer *json)
{
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "verify");
    json_open(json, "bags", '[');
}

void verify_json_bag(struct json_writer *json, const struct hr_bag_report *report)
{
    json_open(json, NULL, '{');
    json_name(json, "path", report->path);
    json_text(json, "verdict", hr_bag_verdict_name(report->verdict));
    json_bool(json, "is_ours", report->is_ours);
    json_name(json, "card", report->card_identity);
    json_name(json, "card_name", report->card_name);
    json_name(json, "job", report->job);
    json_number(json, "files", report->payload_files);
    json_number(json, "bytes", report->payload_bytes);
    json_number(json, "files_proven", report->proof_count);
    json_bool(json, "from_medium", report->from_medium);
    json_signed(json, "elapsed_ns", report->elapsed_ns);
    json_open(json, "problems", '[');
    for (size_t i = 0; i < report->problem_count; i++) {
        json_open(json, NULL, '{');
        json_text(json, "kind", hr_bag_problem_name(report->problems[i].kind));
        json_name(json, "path", report->problems[i].path);
        json_text(json, "text", report->problems[i].text);
        json_close(json);
    }
    json_close(json);
    json_close(json);
}

void verify_json_unchecked(struct json_writer *json, const char *path, enum hr_status status,
                           const struct hr_fault *fault)
{
    json_open(json, NULL, '{');
    json_name(json, "path", path);
    json_text(json, "status", hr_status_name(status));
    json_text(json, "sentence", fault->text);
    json_close(json);
}

void verify_json_end(struct json_writer *json, bool all_valid)
{
    json_close(json);
    json_bool(json, "all_valid", all_valid);
    json_close(json);
    json_end(json);
}
