/* SPDX-License-Identifier: ISC */
/* A command is a row in commands.c and a file cmd_NAME.c. */
#ifndef HR_CLI_CLI_H
#define HR_CLI_CLI_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include <headrace/cancel.h>
#include <headrace/status.h>

#include "cli/cli_output.h"
#include "cli/options.h"

enum cli_exit {
    CLI_DONE = 0,    /* all that was asked is done and proven */
    CLI_FAILED = 1,  /* something failed or differs */
    CLI_USAGE = 2,   /* the command line makes no sense */
    CLI_STOPPED = 3, /* stopped at a deadline: run again to go on */
    CLI_REFUSED = 4, /* refused before anything was written */
};

/* The first member of every command's settings. */
struct cli_common {
    bool help, json, quiet;
    int colour;         /* a choice of cli_colour_choices */
    const char *ledger; /* NULL: the user's own */
};
extern const char *const cli_colour_choices[];
bool cli_wants_colour(const struct cli_common *common, FILE *stream);

/* The row of a command that asks the ledger; `type` is its settings. */
#define CLI_LEDGER_OPTION(type)                                                                                        \
    {                                                                                                                  \
        .name = "ledger", .kind = CLI_TEXT, .completes = CLI_COMPLETES_FILES, .at = offsetof(type, common.ledger),     \
        .argument = "FILE", .help = "use this ledger, not your own"                                                    \
    }
/* Rows every command ends its table with. */
#define CLI_COMMON_OPTIONS(type)                                                                                       \
    {.name = "json",                                                                                                   \
     .kind = CLI_FLAG,                                                                                                 \
     .at = offsetof(type, common.json),                                                                                \
     .help = "one JSON document on stdout instead of text"},                                                           \
        {.name = "quiet",                                                                                              \
         .letter = 'q',                                                                                                \
         .kind = CLI_FLAG,                                                                                             \
         .at = offsetof(type, common.quiet),                                                                           \
         .help = "the answer and what failed, no more"},                                                               \
        {.name = "color",                                                                                              \
         .kind = CLI_CHOICE,                                                                                           \
         .at = offsetof(type, common.colour),                                                                          \
         .argument = "WHEN",                                                                                           \
         .choices = cli_colour_choices,                                                                                \
         .help = "auto, always or never"},                                                                             \
    {                                                                                                                  \
        .name = "help", .letter = 'h', .kind = CLI_FLAG, .at = offsetof(type, common.help), .help = "show this help"   \
    }

struct cli_call {
    const struct cli_command *command;
    const void *settings;
    const struct cli_common *common; /* the settings' first member */
    struct cli_operands operands;
    struct cli_output *out;   /* stdout */
    struct hr_cancel *cancel; /* asked for by Ctrl-C; NULL for a command that is over at once */
};

struct cli_command {
    const char *name;
    const char *summary;  /* a few words */
    const char *about;    /* lines for --help */
    const char *usage;    /* what stands behind the name */
    const char *examples; /* lines, each begun by two spaces */
    const struct cli_option *options;
    size_t option_count;
    const char *operand; /* "CARD" */
    size_t operands_min, operands_max;
    enum cli_completes completes; /* of operands */
    bool is_long;                 /* may be interrupted */
    size_t settings_size;
    enum cli_exit (*run)(const struct cli_call *call);
};

extern const struct cli_command cli_offload, cli_safe, cli_verify, cli_sequences, cli_devices, cli_measure, cli_buffer,
    cli_forecast, cli_log, cli_help;
/* `headrace` by itself: --help, --version. */
extern const struct cli_command cli_top;
/* All but cli_top, ended by NULL. */
extern const struct cli_command *const cli_commands[];

/* Finds the command's name among `arguments` (ended by NULL) and takes it out; cli_top when there is none.
 * NULL, with a sentence in `fault`, when the word is no command. */
const struct cli_command *cli_command_take(const char **arguments, struct hr_fault *fault);
/* Parses, and runs or shows help. */
enum cli_exit cli_command_run(const struct cli_command *command, const char *const *arguments);
const struct cli_command *cli_command_named(const char *name);
/* "; did you mean NAME?" or "". */
const char *cli_command_hint(char out[64], const char *typed);

/* "headrace: TEXT" on stderr, one line. Names in it must already be escaped. */
HR_PRINTF(1, 2) void cli_complain(const char *format, ...);
/* The same with where to read on; gives CLI_USAGE. */
HR_PRINTF(2, 3) enum cli_exit cli_complain_usage(const struct cli_command *command, const char *format, ...);

/* help.c */
void cli_help_command(struct cli_output *out, const struct cli_command *command);
void cli_help_guide(struct cli_output *out);
/* completions.c */
extern const char *const cli_shell_choices[];
void cli_completions_print(struct cli_output *out, int shell);

#endif
