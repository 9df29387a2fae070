/* SPDX-License-Identifier: ISC */
#include <string.h>

#include <headrace/name.h>
#include <headrace/offload.h>

#include "base/units.h"
#include "cli/cli.h"
#include "cli/offload_options.h"
#include "cli/offload_report.h"
#include "cli/offload_sequences.h"
#include "cli/until.h"
#include "cli/when.h"

enum { NAME_SIZE = 8 * HR_FAULT_TEXT_SIZE };

struct offload_settings {
    struct cli_common common;
    struct offload_wish wish;
    const char *job;
    int progress;
    bool sequences, dry_run, json_lines;
};

#define AT(member) offsetof(struct offload_settings, member)
static const struct cli_option options[] = {
    OFFLOAD_OPTIONS(struct offload_settings, wish),
    {.name = "job",
     .letter = 'j',
     .kind = CLI_TEXT,
     .at = AT(job),
     .argument = "NAME",
     .help = "folder below each place; else the capture date"},
    {.name = "sequences", .kind = CLI_FLAG, .at = AT(sequences), .help = "when done, fill a folder for every sequence"},
    {.name = "dry-run", .letter = 'n', .kind = CLI_FLAG, .at = AT(dry_run), .help = "show the plan, write nothing"},
    {.name = "json-lines", .kind = CLI_FLAG, .at = AT(json_lines), .help = "one JSON event a line as it happens"},
    CLI_PROGRESS_OPTION(struct offload_settings),
    CLI_LEDGER_OPTION(struct offload_settings),
    CLI_COMMON_OPTIONS(struct offload_settings),
};

/* What the observer needs while the engine runs. */
struct watch {
    const struct cli_call *call;
    const struct offload_settings *settings;
    const struct hr_offload_plan *plan;
    struct progress progress;
    struct json_writer events;
    struct look_shown look;
    int64_t next_event_ns;
    bool is_free[HR_CARDS_MAX]; /* by card: may leave its reader, is not finished */
    const char *places[HR_PLACES_MAX];
};

static const char stopping[] = "stopping; what is proven stays proven - run the same command to go on";

static void draw(struct watch *watch, const struct hr_offload_progress *progress)
{
    if (!progress_is_due(&watch->progress, progress->elapsed_ns))
        return;
    struct offload_view view = {
        .progress = progress, .card = watch->plan->cards[progress->card].path, .places = watch->places};
    for (size_t i = 0; i < watch->plan->card_count; i++)
        if (watch->is_free[i])
            view.free_cards[view.free_card_count++] = watch->plan->cards[i].path;
    if (watch->progress.mode == PROGRESS_BAR)
        progress_draw_offload(&watch->progress.frame, &view, &watch->progress.style);
    else
        progress_draw_offload_line(&watch->progress.frame, &view);
    progress_show(&watch->progress);
}

static void on_progress(void *context, const struct hr_offload_progress *progress)
{
    struct watch *watch = context;
    progress_note_stop(&watch->progress, stopping);
    draw(watch, progress);
    if (watch->settings->json_lines && progress->elapsed_ns >= watch->next_event_ns) {
        offload_json_progress(&watch->events, watch->plan, progress);
        cli_output_flush(watch->call->out);
        watch->next_event_ns = progress->elapsed_ns + HR_NS_PER_S;
    }
}

/* A line for what a person must know at once; the rest waits for the result. */
static void note_event(struct watch *watch, const struct hr_offload_event *event)
{
    const char *place = event->place < watch->plan->place_count ? watch->plan->places[event->place].path : "";
    const char *card = event->card < watch->plan->card_count ? watch->plan->cards[event->card].path : "";
    char file_name[NAME_SIZE], place_name[NAME_SIZE], card_name[NAME_SIZE];
    hr_escape_name(file_name, sizeof file_name, event->path, strlen(event->path));
    hr_escape_name(place_name, sizeof place_name, place, strlen(place));
    hr_escape_name(card_name, sizeof card_name, card, strlen(card));
    if (event->kind == HR_EVENT_FILE_FAILED)
        progress_note(&watch->progress, "headrace: FAILED %s%s%s: %s", file_name, *place ? " in " : "", place_name,
                      event->text);
    else if (event->kind == HR_EVENT_PLACE_FAILED)
        progress_note(&watch->progress, "headrace: place %s FAILED: %s", place_name, event->text);
    else if (event->kind == HR_EVENT_CARD_NEEDED)
        progress_note(&watch->progress, "headrace: card %s must stay in its reader: it is to be read again", card_name);
    else if (event->kind == HR_EVENT_NOTE && !watch->call->common->quiet)
        progress_note(&watch->progress, "headrace: %s", event->text);
}

static void on_event(void *context, const struct hr_offload_event *event)
{
    struct watch *watch = context;
    if (event->kind == HR_EVENT_CARD_FREE)
        watch->is_free[event->card] = true;
    if (event->kind == HR_EVENT_CARD_NEEDED || event->kind == HR_EVENT_CARD_FINISHED)
        watch->is_free[event->card] = false;
    note_event(watch, event);
    if (watch->settings->json_lines) {
        offload_json_event(&watch->events, watch->plan, event);
        cli_output_flush(watch->call->out);
    }
}

static enum cli_exit show_plan(struct watch *watch)
{
    const struct hr_offload_plan *plan = watch->plan;
    const struct cli_common *common = watch->call->common;
    if (common->json || watch->settings->json_lines)
        offload_json_plan(&watch->events, plan);
    else if (plan->refusal_count == 0)
        offload_text_plan(watch->call->out, plan);
    return offload_show_refusals(plan);
}

/* As text the verdict on the copies comes first and at once; a document is whole, and there it waits. A failure
 * outweighs the deadline. */
static enum cli_exit report(struct watch *watch, const struct hr_offload_result *result, bool was_interrupted)
{
    const struct cli_call *call = watch->call;
    bool with_sequences = watch->settings->sequences && !was_interrupted;
    struct offload_sequences sequences = {0};
    if (!call->common->json && !watch->settings->json_lines) {
        offload_text_result(call->out, result, call->common->quiet);
        cli_output_flush(call->out);
    }
    if (with_sequences)
        offload_sequences_make(&sequences, call, watch->plan, result);
    if (with_sequences && watch->settings->json_lines)
        offload_sequences_event(&watch->events, &sequences);
    else if (with_sequences && !call->common->json)
        offload_sequences_text(call, &sequences);
    if (call->common->json || watch->settings->json_lines)
        offload_json_result(&watch->events, watch->plan, result, was_interrupted,
                            with_sequences && call->common->json ? &sequences : NULL);
    bool has_failed = offload_sequences_failed(&sequences);
    offload_sequences_finish(&sequences);
    return has_failed                    ? CLI_FAILED
           : result->all_done            ? CLI_DONE
           : result->stopped_at_deadline ? CLI_STOPPED
                                         : CLI_FAILED;
}

static enum cli_exit run_job(struct watch *watch, struct hr_offload *offload)
{
    struct hr_fault fault = {0};
    const struct hr_offload_observer observer = {.context = watch, .event = on_event, .progress = on_progress};
    enum hr_status status = hr_offload_run(offload, &observer, watch->call->cancel, &fault);
    progress_note_stop(&watch->progress, stopping);
    progress_finish(&watch->progress);
    enum cli_exit code = offload_exit(status, &fault);
    if (status != HR_OK && status != HR_CANCELLED)
        return code;
    const struct hr_offload_result *result = hr_offload_result(offload);
    enum cli_exit told = report(watch, result, status == HR_CANCELLED);
    return code == CLI_DONE ? told : code;
}

/* A time that has just passed is one of tomorrow. */
static void warn_of_a_far_deadline(struct watch *watch)
{
    double by_s = watch->settings->wish.by_s;
    int64_t now_ns = cli_until_now_ns();
    char when[CLI_WHEN_SIZE];
    const char *from = cli_when_from(when, now_ns + (int64_t)(by_s * HR_NS_PER_S), now_ns);
    if (by_s > 0 && from == when && !watch->call->common->quiet)
        progress_note(&watch->progress, "headrace: warning: the deadline is not today but %s", when);
}

static enum cli_exit show_or_run(struct watch *watch, struct hr_offload *offload)
{
    watch->plan = hr_offload_plan(offload);
    for (size_t i = 0; i < watch->plan->place_count; i++)
        watch->places[i] = watch->plan->places[i].path;
    for (size_t i = 0; i < watch->plan->warning_count && !watch->call->common->quiet; i++)
        progress_note(&watch->progress, "headrace: warning: %s", watch->plan->warnings[i]);
    warn_of_a_far_deadline(watch);
    if (watch->settings->dry_run || watch->plan->refusal_count) {
        progress_finish(&watch->progress);
        return show_plan(watch);
    }
    return run_job(watch, offload);
}

static enum cli_exit run(const struct cli_call *call)
{
    const struct offload_settings *settings = call->settings;
    enum cli_exit code = offload_wish_check(call, &settings->wish);
    if (code != CLI_DONE)
        return code;
    if (settings->json_lines && call->common->json)
        return cli_complain_usage(call->command, "--json or --json-lines, not both");
    struct hr_fault fault = {0};
    struct watch watch = {.call = call, .settings = settings};
    struct hr_offload_options wanted = offload_wish_options(call, &settings->wish, &watch.look);
    wanted.job = settings->job;
    struct hr_offload *offload = NULL;
    json_start(&watch.events, call->out, !settings->json_lines);
    progress_init(&watch.progress, call->common->quiet ? PROGRESS_NONE : settings->progress,
                  cli_wants_colour(call->common, stderr), stderr);
    watch.look.progress = &watch.progress;
    progress_remark(&watch.progress, "looking at ", call->operands.items[0]);
    enum hr_status status = hr_offload_prepare(&offload, &wanted, call->cancel, &fault);
    progress_restart(&watch.progress);
    if (status == HR_OK) {
        code = show_or_run(&watch, offload);
    } else {
        progress_finish(&watch.progress);
        if (status == HR_CANCELLED)
            cli_complain("stopped; nothing was written");
        code = offload_exit(status, &fault);
    }
    hr_offload_destroy(offload);
    return code;
}

const struct cli_command cli_offload = {
    .name = "offload",
    .summary = "copy cards to places, prove every copy, record it",
    .about = "Copies cards to several places at once, reads every copy back from its drive\n"
             "and says which card may be formatted. The same command again goes on where it\n"
             "stopped.",
    .usage = "CARD... --to PLACE [--to PLACE]...",
    .examples = "  headrace offload /media/A /media/B --to /mnt/ssd --to /mnt/backup\n"
                "  headrace offload /media/A --to /mnt/ssd --to /mnt/backup --first rated\n"
                "  headrace offload /media/A --to /mnt/ssd --job 'Northmere final' --dry-run\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .operand = "CARD",
    .operands_min = 1,
    .operands_max = HR_CARDS_MAX,
    .completes = CLI_COMPLETES_FILES,
    .is_long = true,
    .settings_size = sizeof(struct offload_settings),
    .run = run,
};
