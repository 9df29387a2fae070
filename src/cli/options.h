/* SPDX-License-Identifier: ISC */
/* Options: one table a command. It drives parsing, --help, the completions and the check against the man page.
 *
 * Names are taken as they stand, never shortened; options stand before, between and after operands; `--` ends them.
 * Not getopt_long: that takes abbreviations, keeps its place in globals and changes its ways with POSIXLY_CORRECT. */
#ifndef HR_CLI_OPTIONS_H
#define HR_CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

enum { CLI_LIST_MAX = 16, CLI_SERIES_MAX = 128 };

/* What an option writes at its offset. */
enum cli_option_kind {
    CLI_FLAG,     /* bool */
    CLI_TEXT,     /* const char * */
    CLI_NUMBER,   /* uint64_t from 1; 0 when not given */
    CLI_SECONDS,  /* double above 0, up to a day; 0 when not given */
    CLI_DECIMAL,  /* double above 0, up to a million; 0 when not given */
    CLI_DEADLINE, /* double: seconds from now (cli/until.h); 0 when not given */
    CLI_CHOICE,   /* int: 0 when not given, else 1 + index into choices */
    CLI_TEXTS,    /* struct cli_texts: may be given again */
    CLI_SERIES,   /* struct cli_series: options of one offset, each as often as wanted, in the order given */
    CLI_ORDER     /* struct cli_order: choices with commas between, as indices */
};
struct cli_texts {
    const char *items[CLI_LIST_MAX];
    size_t count;
};
struct cli_series {
    struct {
        const char *name; /* of the option */
        const char *value;
    } items[CLI_SERIES_MAX];
    size_t count;
};
struct cli_order {
    int items[CLI_LIST_MAX];
    size_t count;
};

enum cli_completes { CLI_COMPLETES_NOTHING, CLI_COMPLETES_FILES, CLI_COMPLETES_FOLDERS };

struct cli_option {
    const char *name; /* without "--" */
    char letter;      /* 0: none */
    enum cli_option_kind kind;
    enum cli_completes completes;
    size_t at;                  /* offset into the settings */
    const char *argument;       /* "PLACE"; NULL for a flag */
    const char *const *choices; /* ended by NULL */
    const char *help;           /* one line */
};

struct cli_operands {
    const char **items; /* in the order given; the array is the caller's, the strings are argv's */
    size_t count;
};

/* Reads `arguments` (without program and command name) into `settings`, which is zeroed by the caller. `operands`
 * must have room for all arguments. HR_INVALID with one sentence in `fault`. */
HR_MUST_USE enum hr_status cli_options_parse(void *settings, struct cli_operands *operands,
                                             const struct cli_option *options, size_t option_count,
                                             const char *const *arguments, struct hr_fault *fault);

/* The row of that name (`size` characters) or letter; NULL when there is none. */
const struct cli_option *cli_option_named(const struct cli_option *options, size_t count, const char *name,
                                          size_t size);
const struct cli_option *cli_option_lettered(const struct cli_option *options, size_t count, char letter);

#endif
