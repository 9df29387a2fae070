/* SPDX-License-Identifier: ISC */
#include "cli/cli.h"
#include "platform/terminal.h"

int main(int argc, char **argv)
{
    static const char *nothing[] = {NULL};
    const char **arguments = argc > 0 ? (const char **)argv + 1 : nothing;
    struct hr_fault fault = {0};
    const struct cli_command *command = cli_command_take(arguments, &fault);
    enum cli_exit status =
        command ? cli_command_run(command, arguments) : cli_complain_usage(&cli_top, "%s", fault.text);
    if (hr__interrupt_caught())
        hr__interrupt_die(hr__interrupt_caught());
    return (int)status;
}
