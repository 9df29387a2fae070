/* SPDX-License-Identifier: ISC */
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "base/fault.h"
#include "cli/cli.h"
#include "cli/suggest.h"
#include "platform/terminal.h"

const struct cli_command *const cli_commands[] = {&cli_offload, &cli_safe,    &cli_verify, &cli_sequences,
                                                  &cli_devices, &cli_measure, &cli_buffer, &cli_forecast,
                                                  &cli_log,     &cli_help,    NULL};

enum { COLOUR_ALWAYS = 2, COLOUR_NEVER };
const char *const cli_colour_choices[] = {"auto", "always", "never", NULL};

const struct cli_command *cli_command_named(const char *name)
{
    for (size_t i = 0; cli_commands[i]; i++)
        if (strcmp(cli_commands[i]->name, name) == 0)
            return cli_commands[i];
    return NULL;
}

const char *cli_command_hint(char out[64], const char *typed)
{
    struct suggestion suggestion = {.typed = typed, .typed_size = strlen(typed)};
    for (size_t i = 0; cli_commands[i]; i++)
        suggestion_offer(&suggestion, cli_commands[i]->name);
    out[0] = '\0';
    if (suggestion.best)
        snprintf(out, 64, "; did you mean %s?", suggestion.best);
    return out;
}

static const struct cli_option *option_of(const struct cli_command *command, const char *argument)
{
    if (argument[1] == '-')
        return cli_option_named(command->options, command->option_count, argument + 2, strlen(argument + 2));
    return cli_option_lettered(command->options, command->option_count, argument[strlen(argument) - 1]);
}

/* An option before the command's name: does the next argument belong to it? Names mean the same in every command. */
static bool takes_next(const char *argument)
{
    const struct cli_option *option = option_of(&cli_top, argument);
    for (size_t i = 0; cli_commands[i] && !option; i++)
        option = option_of(cli_commands[i], argument);
    return option && option->argument;
}

const struct cli_command *cli_command_take(const char **arguments, struct hr_fault *fault)
{
    const char **at = arguments;
    while (*at && **at == '-' && strcmp(*at, "--") != 0)
        at += takes_next(*at) && at[1] ? 2 : 1;
    if (!*at || **at == '-')
        return &cli_top;
    const struct cli_command *command = cli_command_named(*at);
    if (!command) {
        char shown[128], hint[64];
        hr_escape_name(shown, sizeof shown, *at, strlen(*at));
        hr__fault_set(fault, HR_INVALID, 0, "no command '%s'%s", shown, cli_command_hint(hint, *at));
    }
    for (; command && *at; at++)
        at[0] = at[1];
    return command;
}

bool cli_wants_colour(const struct cli_common *common, FILE *stream)
{
    int choice = common->colour;
    return choice == COLOUR_ALWAYS || (choice != COLOUR_NEVER && hr__terminal_has_colour(stream));
}

static enum cli_exit check_operands(const struct cli_call *call)
{
    const struct cli_command *command = call->command;
    if (call->operands.count < command->operands_min)
        return cli_complain_usage(command, "name a %s", command->operand);
    if (call->operands.count > command->operands_max && command->operands_max == 0)
        return cli_complain_usage(command, "takes options alone");
    if (call->operands.count > command->operands_max)
        return cli_complain_usage(command, "%s: %zu at most", command->operand, command->operands_max);
    return CLI_DONE;
}

static enum cli_exit run(struct cli_call *call)
{
    if (call->common->help) {
        cli_help_command(call->out, call->command);
        return CLI_DONE;
    }
    enum cli_exit status = check_operands(call);
    if (status != CLI_DONE)
        return status;
    if (call->command->is_long && !(call->cancel = hr_cancel_create())) {
        cli_complain("no memory");
        return CLI_FAILED;
    }
    if (call->cancel)
        hr__interrupt_catch(call->cancel);
    status = call->command->run(call);
    if (call->cancel)
        hr__interrupt_catch(NULL);
    hr_cancel_destroy(call->cancel);
    return status;
}

static enum cli_exit parse_and_run(struct cli_call *call, void *settings, const char *const *arguments)
{
    struct hr_fault fault = {0};
    const struct cli_command *command = call->command;
    if (cli_options_parse(settings, &call->operands, command->options, command->option_count, arguments, &fault))
        return cli_complain_usage(command, "%s", fault.text);
    cli_output_init(call->out, stdout, cli_wants_colour(call->common, stdout));
    enum cli_exit status = run(call);
    if (!cli_output_finish(call->out)) {
        cli_complain("cannot write the results: %s", strerror(call->out->error));
        status = CLI_FAILED;
    }
    return status;
}

enum cli_exit cli_command_run(const struct cli_command *command, const char *const *arguments)
{
    size_t count = 0;
    while (arguments[count])
        count++;
    void *settings = calloc(1, command->settings_size);
    const char **operands = calloc(count + 1, sizeof *operands);
    enum cli_exit status = CLI_FAILED;
    if (settings && operands) {
        struct cli_output out;
        struct cli_call call = {
            .command = command, .settings = settings, .common = settings, .operands = {.items = operands}, .out = &out};
        status = parse_and_run(&call, settings, arguments);
    } else {
        cli_complain("no memory");
    }
    free(operands);
    free(settings);
    return status;
}

HR_PRINTF(3, 0)
static void print_line(const char *prefix, const char *name, const char *format, va_list arguments)
{
    char text[16 * HR_FAULT_TEXT_SIZE]; /* that there is no memory must be said without any */
    vsnprintf(text, sizeof text, format, arguments);
    fprintf(stderr, "%s%s: %s\n", prefix, name, text);
}

void cli_complain(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    print_line("", "headrace", format, arguments);
    va_end(arguments);
}

enum cli_exit cli_complain_usage(const struct cli_command *command, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    print_line(command == &cli_top ? "" : "headrace ", command->name, format, arguments);
    va_end(arguments);
    fprintf(stderr, command == &cli_top ? "See: headrace help\n" : "See: headrace help %s\n", command->name);
    return CLI_USAGE;
}
