/* SPDX-License-Identifier: ISC */
/* `headrace help` and `headrace` with options alone. */
#include <string.h>

#include <headrace/name.h>

#include "cli/cli.h"

struct help_settings {
    struct cli_common common;
};

static enum cli_exit run_help(const struct cli_call *call)
{
    if (call->operands.count == 0) {
        cli_help_guide(call->out);
        return CLI_DONE;
    }
    const char *name = call->operands.items[0];
    const struct cli_command *command = cli_command_named(name);
    if (!command) {
        char shown[128], hint[64];
        hr_escape_name(shown, sizeof shown, name, strlen(name));
        return cli_complain_usage(&cli_top, "no command '%s'%s", shown, cli_command_hint(hint, name));
    }
    cli_help_command(call->out, command);
    return CLI_DONE;
}

static const struct cli_option help_options[] = {
    {.name = "help",
     .letter = 'h',
     .kind = CLI_FLAG,
     .at = offsetof(struct help_settings, common.help),
     .help = "show this help"},
};

const struct cli_command cli_help = {
    .name = "help",
    .summary = "what a command does and how to ask for it",
    .about = "Shows what a command does and how to ask for it.",
    .usage = "[COMMAND]",
    .examples = "  headrace help offload\n",
    .options = help_options,
    .option_count = sizeof help_options / sizeof *help_options,
    .operand = "COMMAND",
    .operands_max = 1,
    .settings_size = sizeof(struct help_settings),
    .run = run_help,
};

struct top_settings {
    struct cli_common common;
    bool version;
    int shell; /* a choice of cli_shell_choices */
};

static enum cli_exit run_top(const struct cli_call *call)
{
    const struct top_settings *settings = call->settings;
    if (settings->version)
        cli_output_printf(call->out, "headrace %s\nISC licence; no warranty.\n", hr_version());
    else if (settings->shell)
        cli_completions_print(call->out, settings->shell);
    else
        cli_help_guide(call->out);
    return CLI_DONE;
}

static const struct cli_option top_options[] = {
    {.name = "help",
     .letter = 'h',
     .kind = CLI_FLAG,
     .at = offsetof(struct top_settings, common.help),
     .help = "show this guide"},
    {.name = "version",
     .letter = 'V',
     .kind = CLI_FLAG,
     .at = offsetof(struct top_settings, version),
     .help = "name, version and licence"},
    {.name = "print-completions",
     .kind = CLI_CHOICE,
     .at = offsetof(struct top_settings, shell),
     .argument = "SHELL",
     .choices = cli_shell_choices,
     .help = "completions for bash, zsh or fish"},
};

const struct cli_command cli_top = {
    .name = "headrace",
    .about = "headrace takes photographs off camera cards and proves that every copy is right.",
    .examples = "  headrace offload /media/A /media/B --to /mnt/ssd --to /mnt/backup\n"
                "  headrace safe /media/A          may this card be formatted?\n"
                "  headrace verify /mnt/backup     is every copy still right?\n"
                "  headrace sequences /mnt/ssd     a folder for every play\n",
    .options = top_options,
    .option_count = sizeof top_options / sizeof *top_options,
    .settings_size = sizeof(struct top_settings),
    .run = run_top,
};
