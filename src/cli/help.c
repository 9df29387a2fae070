/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include "cli/cli.h"

enum { OPTION_TEXT_SIZE = 64 };

/* "-t, --to PLACE" */
static void format_option(char out[OPTION_TEXT_SIZE], const struct cli_option *option)
{
    char letter[] = {'-', option->letter, ',', '\0'};
    snprintf(out, OPTION_TEXT_SIZE, "%-3s --%s%s%s", option->letter ? letter : "", option->name,
             option->argument ? " " : "", option->argument ? option->argument : "");
}

static void print_options(struct cli_output *out, const struct cli_command *command)
{
    char shown[OPTION_TEXT_SIZE];
    int width = 0;
    for (size_t i = 0; i < command->option_count; i++) {
        format_option(shown, &command->options[i]);
        width = (int)strlen(shown) > width ? (int)strlen(shown) : width;
    }
    cli_output_append(out, "\nOptions:\n");
    for (size_t i = 0; i < command->option_count; i++) {
        format_option(shown, &command->options[i]);
        cli_output_printf(out, "  %-*s  %s\n", width, shown, command->options[i].help);
    }
}

void cli_help_command(struct cli_output *out, const struct cli_command *command)
{
    if (command == &cli_top) {
        cli_help_guide(out);
        return;
    }
    cli_output_printf(out, "%s\n\nExamples:\n%s\nUsage:\n  headrace %s %s\n", command->about, command->examples,
                      command->name, command->usage);
    print_options(out, command);
    cli_output_printf(out, "\nMore: man headrace%s%s\n", command == &cli_help ? "" : "-",
                      command == &cli_help ? "" : command->name);
}

void cli_help_guide(struct cli_output *out)
{
    cli_output_printf(out, "%s\n\nExamples:\n%s\nCommands:\n", cli_top.about, cli_top.examples);
    for (size_t i = 0; cli_commands[i]; i++)
        cli_output_printf(out, "  %-10s %s\n", cli_commands[i]->name, cli_commands[i]->summary);
    print_options(out, &cli_top);
    cli_output_append(out, "\nMore: headrace help COMMAND, man headrace\n");
}
