/* SPDX-License-Identifier: ISC */
#include "cli/completions.h"

const char *const cli_shell_choices[] = {"bash", "zsh", "fish", NULL};

void completions_command_names(struct cli_output *out, const char *between)
{
    for (size_t i = 0; cli_commands[i]; i++)
        cli_output_printf(out, "%s%s", i ? between : "", cli_commands[i]->name);
}

void completions_choices(struct cli_output *out, const struct cli_option *option)
{
    for (size_t i = 0; option->choices[i]; i++)
        cli_output_printf(out, "%s%s", i ? " " : "", option->choices[i]);
}

void cli_completions_print(struct cli_output *out, int shell)
{
    static void (*const print[])(struct cli_output *) = {completions_bash, completions_zsh, completions_fish};
    print[shell - 1](out);
}
