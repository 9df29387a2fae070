/* SPDX-License-Identifier: ISC */
/* What the three commands of `buffer` share: one table of options, and a function each. */
#ifndef HR_CLI_BUFFER_CALL_H
#define HR_CLI_BUFFER_CALL_H

#include "cli/cli.h"

struct buffer_settings {
    struct cli_common common;
    struct cli_texts counts, drains, easings;
    struct cli_series play; /* holds and rests */
    double depth, per_s, size;
    const char *body, *plot, *card;
};

/* The operand that named them is taken out of the call. */
enum cli_exit buffer_fit_run(const struct cli_call *call);
enum cli_exit buffer_plan_run(const struct cli_call *call);
enum cli_exit buffer_from_run(const struct cli_call *call);

#endif
