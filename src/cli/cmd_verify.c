/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include <headrace/bag.h>
#include <headrace/offload.h>

#include "base/fault.h"
#include "base/units.h"
#include "cli/cli.h"
#include "cli/progress.h"
#include "cli/verify_report.h"

/* In the order of enum hr_digest_kind, whose first is none. */
static const char *const digest_choices[] = {"xxh64",  "xxh3",   "xxh128", "md5",    "sha1",
                                             "sha224", "sha256", "sha384", "sha512", NULL};
_Static_assert(sizeof digest_choices / sizeof *digest_choices == HR_DIGEST_KIND_COUNT, "a choice a kind");

struct verify_settings {
    struct cli_common common;
    int digest, progress;
};

static const struct cli_option options[] = {
    {.name = "digest",
     .kind = CLI_CHOICE,
     .at = offsetof(struct verify_settings, digest),
     .argument = "NAME",
     .choices = digest_choices,
     .help = "check this manifest alone, where the bag has it"},
    CLI_PROGRESS_OPTION(struct verify_settings),
    CLI_LEDGER_OPTION(struct verify_settings),
    CLI_COMMON_OPTIONS(struct verify_settings),
};

struct check {
    const struct cli_call *call;
    const struct verify_settings *settings;
    struct json_writer json;
    struct progress progress;
    const char *bag;
    char what[64]; /* "bag 2 of 5: " */
    size_t number;
    struct verify_sum sum;
};

static const char stopping[] = "stopping; nothing was changed";

static void on_progress(void *context, int64_t elapsed_ns, uint64_t bytes_done, uint64_t bytes_total, size_t files_done,
                        size_t files_total)
{
    struct check *check = context;
    const struct reading_view view = {.what = check->what,
                                      .name = check->bag,
                                      .why = "",
                                      .elapsed_ns = elapsed_ns,
                                      .bytes_done = bytes_done,
                                      .bytes_total = bytes_total,
                                      .files_done = files_done,
                                      .files_total = files_total};
    progress_note_stop(&check->progress, stopping);
    progress_reading(&check->progress, &view);
}

/* The ledger is a memory: a bag is right even when it cannot be remembered. */
static void remember(struct check *check, const struct hr_bag_report *report)
{
    struct hr_fault fault = {0};
    if (hr_remember_bag(report, check->call->common->ledger, &fault) != HR_OK)
        progress_note(&check->progress, "headrace: the ledger was not told: %s", fault.text);
}

static void tell_unchecked(struct check *check, const char *path, enum hr_status status, const struct hr_fault *fault)
{
    progress_note(&check->progress, "headrace: %s", fault->text);
    if (check->call->common->json)
        verify_json_unchecked(&check->json, path, status, fault);
}

static void check_bag(struct check *check, const char *path)
{
    struct hr_fault fault = {0};
    struct hr_bag_report *report = NULL;
    const struct hr_bag_verify_options wanted = {
        .only = (enum hr_digest_kind)check->settings->digest, .context = check, .progress = on_progress};
    check->bag = path;
    snprintf(check->what, sizeof check->what, "bag %zu of %zu: ", ++check->number, check->sum.bags);
    progress_restart(&check->progress);
    enum hr_status status = hr_bag_verify(&report, path, &wanted, check->call->cancel, &fault);
    progress_note_stop(&check->progress, stopping);
    if (status == HR_OK) {
        remember(check, report);
        progress_erase(&check->progress);
        if (check->call->common->json)
            verify_json_bag(&check->json, report);
        else
            verify_text_bag(check->call->out, report, check->call->common->quiet);
        cli_output_flush(check->call->out);
    } else if (status != HR_CANCELLED) {
        tell_unchecked(check, path, status, &fault);
    }
    bool is_right =
        status == HR_OK && (report->verdict == HR_BAG_VALID || report->verdict == HR_BAG_VALID_WITH_WARNINGS);
    check->sum.right += is_right;
    hr_bag_report_destroy(report);
}

static void tell_closed(struct check *check, const struct hr_closed_folders *closed)
{
    for (size_t i = 0; i < closed->count; i++) {
        struct hr_fault fault = {0};
        hr__fault_about(&fault, HR_DENIED, closed->paths[i], "you may not look into it: what is in it is NOT checked");
        tell_unchecked(check, closed->paths[i], HR_DENIED, &fault);
    }
}

static void check_operand(struct check *check, const char *operand)
{
    struct hr_fault fault = {0};
    char **paths = NULL;
    size_t count = 0;
    struct hr_closed_folders closed = {0};
    enum hr_status status = hr_bags_find(&paths, &count, &closed, operand, &fault);
    if (status == HR_OK && count + closed.count == 0)
        status = hr__fault_path(&fault, HR_NOT_FOUND, 0, "no bag at or below", operand);
    if (status != HR_OK) {
        tell_unchecked(check, operand, status, &fault);
        check->sum.folders_unchecked++;
    }
    check->sum.bags += count;
    check->sum.folders += closed.count;
    check->sum.folders_unchecked += closed.count;
    tell_closed(check, &closed);
    for (size_t i = 0; i < count && !hr_cancel_requested(check->call->cancel); i++)
        check_bag(check, paths[i]);
    hr_bag_paths_free(closed.paths, closed.count);
    hr_bag_paths_free(paths, count);
}

static enum cli_exit run(const struct cli_call *call)
{
    const struct verify_settings *settings = call->settings;
    struct check check = {.call = call, .settings = settings, .sum = {.folders = call->operands.count}};
    json_start(&check.json, call->out, true);
    progress_init(&check.progress, call->common->quiet ? PROGRESS_NONE : settings->progress,
                  cli_wants_colour(call->common, stderr), stderr);
    if (call->common->json)
        verify_json_begin(&check.json);
    for (size_t i = 0; i < call->operands.count && !hr_cancel_requested(call->cancel); i++)
        check_operand(&check, call->operands.items[i]);
    progress_finish(&check.progress);
    bool finished = !hr_cancel_requested(call->cancel), is_right = finished && verify_is_right(&check.sum);
    if (call->common->json)
        verify_json_end(&check.json, is_right);
    else if (finished && (!call->common->quiet || !is_right))
        verify_text_sum(call->out, &check.sum);
    return is_right ? CLI_DONE : CLI_FAILED;
}

const struct cli_command cli_verify = {
    .name = "verify",
    .summary = "read delivered bags back against their manifests",
    .about = "Reads every file of the bags at or below a folder back from the drive and\n"
             "compares it with the digests made when the card was read. What is proven goes\n"
             "into the ledger.",
    .usage = "BAG-OR-PLACE...",
    .examples = "  headrace verify /mnt/ssd /mnt/backup\n"
                "  headrace verify '/mnt/backup/Northmere final' --digest sha256\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .operand = "BAG or PLACE",
    .operands_min = 1,
    .operands_max = SIZE_MAX,
    .completes = CLI_COMPLETES_FOLDERS,
    .is_long = true,
    .settings_size = sizeof(struct verify_settings),
    .run = run,
};
