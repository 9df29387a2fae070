/* SPDX-License-Identifier: ISC */
#include <string.h>

#include <headrace/name.h>

#include "cli/buffer_call.h"
#include "cli/suggest.h"

#define AT(member) offsetof(struct buffer_settings, member)
static const struct cli_option options[] = {
    {.name = "count",
     .kind = CLI_TEXTS,
     .at = AT(counts),
     .argument = "F:N",
     .help = "at F frames a second the camera stopped after N"},
    {.name = "depth",
     .kind = CLI_DECIMAL,
     .at = AT(depth),
     .argument = "FRAMES",
     .help = "the buffer holds so many frames"},
    {.name = "drain",
     .kind = CLI_TEXTS,
     .at = AT(drains),
     .argument = "R=NAME",
     .help = "the card takes R a second; again: another card, NAME"},
    {.name = "body",
     .kind = CLI_TEXT,
     .at = AT(body),
     .argument = "SERIAL",
     .help = "the buffer that from found for this body"},
    {.name = "hold",
     .kind = CLI_SERIES,
     .at = AT(play),
     .argument = "TIME@RATE",
     .help = "shutter held for TIME, as 3s or 3s@40; in order"},
    {.name = "rest", .kind = CLI_SERIES, .at = AT(play), .argument = "TIME", .help = "then released for TIME, as 2s"},
    {.name = "rate",
     .kind = CLI_DECIMAL,
     .at = AT(per_s),
     .argument = "RATE",
     .help = "frames a second of holds that name none"},
    {.name = "ease",
     .kind = CLI_TEXTS,
     .at = AT(easings),
     .argument = "FILL:RATE",
     .help = "compare: from this fill on slower, 50%:30,75%:20"},
    {.name = "size",
     .kind = CLI_DECIMAL,
     .at = AT(size),
     .argument = "SHARE",
     .help = "compare: files so many times as large, as 0.7"},
    {.name = "plot",
     .kind = CLI_TEXT,
     .completes = CLI_COMPLETES_FILES,
     .at = AT(plot),
     .argument = "FILE.svg",
     .help = "draw the fill over time; a new file"},
    {.name = "card",
     .kind = CLI_TEXT,
     .completes = CLI_COMPLETES_FILES,
     .at = AT(card),
     .argument = "FILE.svg",
     .help = "a page to print: frames at each rate; a new file"},
    CLI_LEDGER_OPTION(struct buffer_settings),
    CLI_COMMON_OPTIONS(struct buffer_settings),
};

/* ---- the commands of it ---- */

static const struct verb {
    const char *name;
    const char *takes[14]; /* options, besides those all commands have */
    bool takes_operands;
    enum cli_exit (*run)(const struct cli_call *call);
} verbs[] = {
    {.name = "fit", .takes = {"count", "card"}, .run = buffer_fit_run},
    {.name = "plan",
     .takes = {"count", "depth", "drain", "body", "hold", "rest", "rate", "ease", "size", "plot", "card", "ledger"},
     .run = buffer_plan_run},
    {.name = "from", .takes = {"ledger"}, .takes_operands = true, .run = buffer_from_run},
};
enum { VERB_COUNT = sizeof verbs / sizeof *verbs };

static const struct verb *find_verb(const char *name)
{
    for (size_t i = 0; i < VERB_COUNT; i++)
        if (strcmp(verbs[i].name, name) == 0)
            return &verbs[i];
    return NULL;
}

static bool takes(const struct verb *verb, const char *option)
{
    for (size_t i = 0; verb->takes[i]; i++)
        if (strcmp(verb->takes[i], option) == 0)
            return true;
    return false;
}

/* The first of the options given that the verb does not take; NULL: none. */
static const char *find_strange(const struct verb *verb, const struct buffer_settings *settings)
{
    const struct {
        const char *name;
        bool is_given;
    } given[] = {{"count", settings->counts.count > 0},
                 {"depth", settings->depth > 0},
                 {"drain", settings->drains.count > 0},
                 {settings->play.items[0].name, settings->play.count > 0},
                 {"rate", settings->per_s > 0},
                 {"body", settings->body != NULL},
                 {"ledger", settings->common.ledger != NULL},
                 {"ease", settings->easings.count > 0},
                 {"size", settings->size > 0},
                 {"plot", settings->plot != NULL},
                 {"card", settings->card != NULL}};
    for (size_t i = 0; i < sizeof given / sizeof *given; i++)
        if (given[i].is_given && !takes(verb, given[i].name))
            return given[i].name;
    return NULL;
}

static enum cli_exit complain_verb(const struct cli_call *call)
{
    const char *typed = call->operands.count ? call->operands.items[0] : "";
    struct suggestion suggestion = {.typed = typed, .typed_size = strlen(typed)};
    char shown[64];
    for (size_t i = 0; i < VERB_COUNT; i++)
        suggestion_offer(&suggestion, verbs[i].name);
    if (!*typed)
        return cli_complain_usage(call->command, "say fit, plan or from");
    hr_escape_name(shown, sizeof shown, typed, strlen(typed));
    return cli_complain_usage(call->command, "fit, plan or from, not '%s'%s%s%s", shown,
                              suggestion.best ? "; did you mean " : "", suggestion.best ? suggestion.best : "",
                              suggestion.best ? "?" : "");
}

static enum cli_exit run(const struct cli_call *call)
{
    const struct verb *verb = call->operands.count ? find_verb(call->operands.items[0]) : NULL;
    if (!verb)
        return complain_verb(call);
    const char *strange = find_strange(verb, call->settings);
    if (strange)
        return cli_complain_usage(call->command, "%s takes no --%s", verb->name, strange);
    struct cli_call rest = *call;
    rest.operands.items++;
    rest.operands.count--;
    if (rest.operands.count > 0 && !verb->takes_operands)
        return cli_complain_usage(call->command, "%s takes options alone", verb->name);
    if (rest.operands.count == 0 && verb->takes_operands)
        return cli_complain_usage(call->command, "%s what? name a PLACE", verb->name);
    return verb->run(&rest);
}

const struct cli_command cli_buffer = {
    .name = "buffer",
    .summary = "how long the shutter can be held before the camera stops",
    .about = "Says how long the shutter can be held. fit finds how deep a camera's buffer is\n"
             "and how fast its card drains it, from frames counted until the camera stopped;\n"
             "from finds both in bursts that were delivered, for each body and card; plan goes\n"
             "through a play: how many frames, where the buffer is full, what to hold back.",
    .usage = "fit --count F:N... | plan [OPTION...] | from PLACE...",
    .examples = "  headrace buffer fit --count 40:257 --count 30:360 --count 20:1362\n"
                "  headrace buffer from /mnt/ssd\n"
                "  headrace buffer plan --depth 144 --drain 17.9 --rate 40 \\\n"
                "      --hold 3s --rest 2s --hold 6s --ease 75%:20\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .operand = "fit, plan or from, then PLACE",
    .operands_max = SIZE_MAX,
    .completes = CLI_COMPLETES_FOLDERS,
    .is_long = true,
    .settings_size = sizeof(struct buffer_settings),
    .run = run,
};
