/* SPDX-License-Identifier: ISC */
#include "cli/completions.h"

static void print_bash_source(struct cli_output *out, enum cli_completes completes)
{
    if (completes == CLI_COMPLETES_NOTHING)
        cli_output_append(out, ":");
    else
        cli_output_printf(out, "_headrace_paths %s", completes == CLI_COMPLETES_FOLDERS ? "-d" : "-f");
}

static void print_bash_value(struct cli_output *out, const char *command, const struct cli_option *option)
{
    cli_output_printf(out, "    '%s --%s'", command, option->name);
    if (option->letter)
        cli_output_printf(out, " | '%s -%c'", command, option->letter);
    cli_output_append(out, ") ");
    if (option->choices) {
        cli_output_append(out, "_headrace_words '");
        completions_choices(out, option);
        cli_output_append(out, "'");
    } else {
        print_bash_source(out, option->completes);
    }
    cli_output_append(out, "; return ;;\n");
}

static void print_bash_values(struct cli_output *out, const struct cli_command *command, const char *name)
{
    for (size_t i = 0; i < command->option_count; i++)
        if (command->options[i].argument)
            print_bash_value(out, name, &command->options[i]);
}

static void print_bash_options(struct cli_output *out, const struct cli_command *command, const char *name)
{
    cli_output_printf(out, "    '%s -'*) _headrace_words '", name);
    for (size_t i = 0; i < command->option_count; i++)
        cli_output_printf(out, "%s--%s", i ? " " : "", command->options[i].name);
    cli_output_append(out, "' ;;\n");
}

static void print_bash_operands(struct cli_output *out, const struct cli_command *command)
{
    cli_output_printf(out, "    '%s '*) ", command->name);
    if (command == &cli_help) {
        cli_output_append(out, "_headrace_words '");
        completions_command_names(out, " ");
        cli_output_append(out, "'");
    } else {
        print_bash_source(out, command->completes);
    }
    cli_output_append(out, " ;;\n");
}

void completions_bash(struct cli_output *out)
{
    cli_output_append(out, "# bash completion for headrace, made from its option tables\n"
                           "_headrace_words()\n{\n    COMPREPLY=($(compgen -W \"$1\" -- \"$word\"))\n}\n"
                           "_headrace_paths()\n{\n    compopt -o filenames 2>/dev/null\n"
                           "    mapfile -t COMPREPLY < <(compgen \"$1\" -- \"$word\")\n}\n"
                           "_headrace()\n{\n"
                           "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} command= i\n"
                           "    COMPREPLY=()\n"
                           "    for ((i = 1; i < COMP_CWORD; i++)); do\n"
                           "        case ${COMP_WORDS[i]} in ");
    completions_command_names(out, " | ");
    cli_output_append(out, ") command=${COMP_WORDS[i]}; break ;; esac\n    done\n    case \"$command $before\" in\n");
    print_bash_values(out, &cli_top, "");
    for (size_t i = 0; cli_commands[i]; i++)
        print_bash_values(out, cli_commands[i], cli_commands[i]->name);
    cli_output_append(out, "    esac\n    case \"$command $word\" in\n");
    print_bash_options(out, &cli_top, "");
    for (size_t i = 0; cli_commands[i]; i++) {
        print_bash_options(out, cli_commands[i], cli_commands[i]->name);
        print_bash_operands(out, cli_commands[i]);
    }
    cli_output_append(out, "    ' '*) _headrace_words '");
    completions_command_names(out, " ");
    cli_output_append(out, "' ;;\n    esac\n}\ncomplete -F _headrace headrace\n");
}
