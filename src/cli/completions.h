/* SPDX-License-Identifier: ISC */
/* Completions for three shells out of the option tables. Help lines and summaries hold no quote and no bracket (a test
 * sees to it), so they stand in shell text as they are. */
#ifndef HR_CLI_COMPLETIONS_H
#define HR_CLI_COMPLETIONS_H

#include "cli/cli.h"

void completions_bash(struct cli_output *out);
void completions_zsh(struct cli_output *out);
void completions_fish(struct cli_output *out);

/* Every command's name, with `between` between two. */
void completions_command_names(struct cli_output *out, const char *between);
/* The words an option takes, with spaces between. */
void completions_choices(struct cli_output *out, const struct cli_option *option);

#endif
