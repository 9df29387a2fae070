/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include <headrace/sequence.h>

#include "cli/cli.h"
#include "cli/plot_file.h"
#include "cli/sequences_job.h"
#include "cli/sequences_report.h"
#include "cli/sequences_svg.h"
#include "platform/terminal.h"

/* In the order of enum hr_fill, whose first is the default. */
static const char *const fill_choices[] = {"link", "reflink", "copy", "move", "list", NULL};
_Static_assert(sizeof fill_choices / sizeof *fill_choices == HR_FILL_COUNT, "a choice a way to fill");

struct sequences_settings {
    struct cli_common common;
    double gap_s;
    int fill;
    struct cli_texts body_names;
    const char *plot;
};

#define AT(member) offsetof(struct sequences_settings, member)
static const struct cli_option options[] = {
    {.name = "gap",
     .kind = CLI_SECONDS,
     .at = AT(gap_s),
     .argument = "SECONDS",
     .help = "bursts no further apart are one sequence; else 4"},
    {.name = "fill",
     .kind = CLI_CHOICE,
     .at = AT(fill),
     .argument = "HOW",
     .choices = fill_choices,
     .help = "link, reflink, copy, move or list; else link, or list"},
    {.name = "body",
     .kind = CLI_TEXTS,
     .at = AT(body_names),
     .argument = "SERIAL=NAME",
     .help = "call the body of this serial NAME, not A or B"},
    {.name = "plot",
     .kind = CLI_TEXT,
     .completes = CLI_COMPLETES_FILES,
     .at = AT(plot),
     .argument = "FILE.svg",
     .help = "draw the match as a timeline too; a new file"},
    CLI_COMMON_OPTIONS(struct sequences_settings),
};

/* ---- names of bodies ---- */

struct body_names {
    struct hr_body_name items[CLI_LIST_MAX];
    char *serials[CLI_LIST_MAX]; /* owned */
    size_t count;
};

static void release_names(struct body_names *names)
{
    for (size_t i = 0; i < names->count; i++)
        free(names->serials[i]);
}

/* "SERIAL=NAME" in two. The name becomes part of a folder's. */
static enum cli_exit take_name(struct body_names *names, const struct cli_call *call, const char *text)
{
    const char *equals = strchr(text, '=');
    if (!equals || equals == text || equals[1] == '\0')
        return cli_complain_usage(call->command, "--body wants SERIAL=NAME");
    char *serial = strndup(text, (size_t)(equals - text));
    if (!serial) {
        cli_complain("no memory");
        return CLI_FAILED;
    }
    names->serials[names->count] = serial;
    names->items[names->count++] = (struct hr_body_name){.serial = serial, .name = equals + 1};
    return CLI_DONE;
}

static enum cli_exit take_names(struct body_names *names, const struct cli_call *call)
{
    const struct sequences_settings *settings = call->settings;
    enum cli_exit code = CLI_DONE;
    for (size_t i = 0; i < settings->body_names.count && code == CLI_DONE; i++)
        code = take_name(names, call, settings->body_names.items[i]);
    return code;
}

/* ---- the job ---- */

static void draw(struct hr_text *out, const void *found)
{
    sequences_svg(out, found);
}

static void show(const struct cli_call *call, const struct sequences_found *found)
{
    struct json_writer json;
    if (call->common->json) {
        json_start(&json, call->out, true);
        sequences_json(&json, found);
    } else if (call->common->quiet) {
        sequences_text_line(call->out, found);
    } else {
        sequences_text(call->out, found, hr__terminal_takes_utf8());
    }
}

static enum cli_exit report(const struct cli_call *call, const struct sequences_found *found)
{
    const struct sequences_settings *settings = call->settings;
    bool all_done = found->filled->all_done, has_frames = found->delivered->frame_count > 0;
    if (has_frames || call->common->json)
        show(call, found);
    if (!has_frames) {
        cli_complain("there is no frame in what was named");
        return CLI_FAILED;
    }
    if (settings->plot && found->grouping->sequence_count == 0) {
        cli_complain("there is no sequence to draw");
        all_done = false;
    } else if (settings->plot) {
        all_done = plot_file_write(settings->plot, draw, found) && all_done;
    }
    return all_done ? CLI_DONE : CLI_FAILED;
}

static enum cli_exit make_and_report(const struct cli_call *call, const struct body_names *names)
{
    const struct sequences_settings *settings = call->settings;
    struct hr_fault fault = {0};
    struct sequences_found found;
    /* Of a call that failed the document is whole, too. */
    const struct sequences_found nothing = {&(struct hr_delivered){0}, &(struct hr_grouping){0},
                                            &(struct hr_filled){0}};
    const struct sequences_job job = {
        .paths = call->operands.items,
        .path_count = call->operands.count,
        .grouping = {.gap_s = settings->gap_s},
        .fill = {.fill = (enum hr_fill)settings->fill, .body_names = names->items, .body_name_count = names->count}};
    enum hr_status status = sequences_make(&found, call, &job, &fault);
    if (status != HR_OK) {
        if (call->common->json)
            show(call, &nothing);
        cli_complain("%s", status == HR_CANCELLED ? "stopped; the same command again goes on" : fault.text);
        return status == HR_INVALID ? CLI_USAGE : CLI_FAILED;
    }
    enum cli_exit code = report(call, &found);
    sequences_finish(&found);
    return code;
}

static enum cli_exit run(const struct cli_call *call)
{
    struct body_names names = {0};
    enum cli_exit code = take_names(&names, call);
    if (code == CLI_DONE)
        code = make_and_report(call, &names);
    release_names(&names);
    return code;
}

const struct cli_command cli_sequences = {
    .name = "sequences",
    .summary = "sort bursts into sequences, fill a folder for each",
    .about = "Sorts the frames delivered so far into bursts and sequences, finds where the\n"
             "camera's buffer was full, and fills a folder for every sequence with links to\n"
             "its frames. After more was delivered the same command again adds what is new.",
    .usage = "PLACE-OR-BAG...",
    .examples = "  headrace sequences /mnt/ssd\n"
                "  headrace sequences '/mnt/ssd/Northmere final' --plot northmere.svg\n"
                "  headrace sequences /mnt/ssd --gap 2.5 --body NM-A-0417=goal\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .operand = "PLACE or BAG",
    .operands_min = 1,
    .operands_max = SIZE_MAX,
    .completes = CLI_COMPLETES_FOLDERS,
    .is_long = true,
    .settings_size = sizeof(struct sequences_settings),
    .run = run,
};
