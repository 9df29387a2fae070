/* SPDX-License-Identifier: ISC */
#include <string.h>

#include "cli/completions.h"

static const char *zsh_action(enum cli_completes completes)
{
    static const char *const actions[] = {
        [CLI_COMPLETES_NOTHING] = " ",
        [CLI_COMPLETES_FILES] = "_files",
        [CLI_COMPLETES_FOLDERS] = "_files -/",
    };
    return actions[completes];
}

/* A colon would end it. */
static void print_zsh_argument(struct cli_output *out, const char *argument)
{
    cli_output_append(out, ":");
    for (; *argument; argument++)
        cli_output_printf(out, "%s%c", *argument == ':' ? "\\" : "", *argument);
    cli_output_append(out, ":");
}

static void print_zsh_spec(struct cli_output *out, const struct cli_option *option, const char *dashes,
                           const char *name, size_t name_size)
{
    bool repeats = option->kind == CLI_TEXTS || option->kind == CLI_SERIES;
    cli_output_printf(out, " \\\n            '%s%s%.*s[%s]", repeats ? "*" : "", dashes, (int)name_size, name,
                      option->help);
    if (option->argument)
        print_zsh_argument(out, option->argument);
    if (option->choices) {
        cli_output_append(out, "(");
        completions_choices(out, option);
        cli_output_append(out, ")");
    } else if (option->argument) {
        cli_output_append(out, zsh_action(option->completes));
    }
    cli_output_append(out, "'");
}

static void print_zsh_options(struct cli_output *out, const struct cli_command *command)
{
    for (size_t i = 0; i < command->option_count; i++) {
        const struct cli_option *option = &command->options[i];
        print_zsh_spec(out, option, "--", option->name, strlen(option->name));
        if (option->letter)
            print_zsh_spec(out, option, "-", &option->letter, 1);
    }
}

static void print_zsh_command(struct cli_output *out, const struct cli_command *command)
{
    cli_output_printf(out, "        %s) _arguments", command->name);
    print_zsh_options(out, command);
    if (command == &cli_help) {
        cli_output_append(out, " \\\n            '1:COMMAND:(");
        completions_command_names(out, " ");
        cli_output_append(out, ")'");
    } else {
        cli_output_printf(out, " \\\n            '*:%s:%s'", command->operand, zsh_action(command->completes));
    }
    cli_output_append(out, " ;;\n");
}

void completions_zsh(struct cli_output *out)
{
    cli_output_append(out, "#compdef headrace\n# zsh completion for headrace, made from its option tables\n"
                           "_headrace() {\n    local curcontext=$curcontext state line\n"
                           "    local -a commands=(\n");
    for (size_t i = 0; cli_commands[i]; i++)
        cli_output_printf(out, "        '%s:%s'\n", cli_commands[i]->name, cli_commands[i]->summary);
    cli_output_append(out, "    )\n    _arguments -C");
    print_zsh_options(out, &cli_top);
    cli_output_append(out, " \\\n            '1:COMMAND:->command' '*::argument:->rest'\n"
                           "    case $state in\n    command) _describe command commands ;;\n"
                           "    rest)\n        case $line[1] in\n");
    for (size_t i = 0; cli_commands[i]; i++)
        print_zsh_command(out, cli_commands[i]);
    cli_output_append(out, "        esac ;;\n    esac\n}\n_headrace \"$@\"\n");
}
