/* SPDX-License-Identifier: ISC */
#include "cli/completions.h"

static void print_fish_options(struct cli_output *out, const struct cli_command *command, const char *condition)
{
    for (size_t i = 0; i < command->option_count; i++) {
        const struct cli_option *option = &command->options[i];
        cli_output_printf(out, "complete -c headrace -n '%s' -l %s", condition, option->name);
        if (option->letter)
            cli_output_printf(out, " -s %c", option->letter);
        if (option->choices) {
            cli_output_append(out, " -x -a '");
            completions_choices(out, option);
            cli_output_append(out, "'");
        } else if (option->argument) {
            cli_output_append(out, option->completes == CLI_COMPLETES_NOTHING ? " -x"
                                   : option->completes == CLI_COMPLETES_FOLDERS
                                       ? " -x -a '(__fish_complete_directories)'"
                                       : " -r -F");
        }
        cli_output_printf(out, " -d '%s'\n", option->help);
    }
}

void completions_fish(struct cli_output *out)
{
    cli_output_append(out, "# fish completion for headrace, made from its option tables\n"
                           "complete -c headrace -f\n");
    print_fish_options(out, &cli_top, "__fish_use_subcommand");
    for (size_t i = 0; cli_commands[i]; i++) {
        const struct cli_command *command = cli_commands[i];
        char condition[64];
        snprintf(condition, sizeof condition, "__fish_seen_subcommand_from %s", command->name);
        cli_output_printf(out, "complete -c headrace -n __fish_use_subcommand -a %s -d '%s'\n", command->name,
                          command->summary);
        if (command == &cli_help) {
            cli_output_printf(out, "complete -c headrace -n '%s' -a '", condition);
            completions_command_names(out, " ");
            cli_output_append(out, "'\n");
        } else if (command->completes != CLI_COMPLETES_NOTHING) {
            cli_output_printf(out, "complete -c headrace -n '%s' -F\n", condition);
        }
        print_fish_options(out, command, condition);
    }
}
