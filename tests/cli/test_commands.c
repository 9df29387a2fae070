/* SPDX-License-Identifier: ISC */
/* How a command line becomes a command that is run, helped or complained about. What each command answers is in the
 * transcripts and in answers_test.sh. */
#include "cli/cli.h"
#include "suite.h"

#include <string.h>

#include <fcntl.h>
#include <unistd.h>

/* What was said on stdout and stderr together. */
static char said[65536];

static enum cli_exit run(const struct cli_command *command, const char *const *arguments)
{
    FILE *kept = tmpfile();
    ck_assert_ptr_nonnull(kept);
    fflush(stdout);
    int out = dup(STDOUT_FILENO), err = dup(STDERR_FILENO);
    dup2(fileno(kept), STDOUT_FILENO);
    dup2(fileno(kept), STDERR_FILENO);
    enum cli_exit status = cli_command_run(command, arguments);
    dup2(out, STDOUT_FILENO);
    dup2(err, STDERR_FILENO);
    close(out);
    close(err);
    rewind(kept);
    said[fread(said, 1, sizeof said - 1, kept)] = '\0';
    fclose(kept);
    return status;
}

START_TEST(finds_a_command_by_its_whole_name_and_hints_at_others)
{
    char hint[64];
    for (size_t i = 0; cli_commands[i]; i++) {
        ck_assert_ptr_eq(cli_command_named(cli_commands[i]->name), cli_commands[i]);
        ck_assert_ptr_nonnull(strstr(cli_command_hint(hint, cli_commands[i]->name), cli_commands[i]->name));
    }
    ck_assert_ptr_null(cli_command_named("saf"));
    ck_assert_str_eq(cli_command_hint(hint, "saef"), "; did you mean safe?");
    ck_assert_str_eq(cli_command_hint(hint, "shutter"), "");
}
END_TEST

START_TEST(helps_with_every_command_and_does_nothing_else)
{
    const char *const arguments[] = {"--help", NULL};
    for (size_t i = 0; cli_commands[i]; i++) {
        const struct cli_command *command = cli_commands[i];
        ck_assert_int_eq(run(command, arguments), CLI_DONE);
        ck_assert_msg(strncmp(said, command->about, strlen(command->about)) == 0, "%s", said);
        ck_assert_ptr_nonnull(strstr(said, command->examples));
        for (size_t k = 0; k < command->option_count; k++)
            ck_assert_msg(strstr(said, command->options[k].help) != NULL, "%s: %s", command->name,
                          command->options[k].help);
    }
}
END_TEST

START_TEST(asks_for_as_many_operands_as_a_command_takes)
{
    const char *const none[] = {NULL}, *const one[] = {"one", NULL}, *const two[] = {"1", "2", NULL};
    ck_assert_int_eq(run(&cli_safe, none), CLI_USAGE);
    ck_assert_str_eq(said, "headrace safe: name a CARD\nSee: headrace help safe\n");
    ck_assert_int_eq(run(&cli_log, two), CLI_USAGE);
    ck_assert_str_eq(said, "headrace log: RUN: 1 at most\nSee: headrace help log\n");
    ck_assert_int_eq(run(&cli_top, one), CLI_USAGE);
    ck_assert_str_eq(said, "headrace: takes options alone\nSee: headrace help\n");
}
END_TEST

START_TEST(prints_completions_that_name_every_command_and_option)
{
    static const char *const shells[] = {"bash", "zsh", "fish"};
    for (size_t s = 0; s < 3; s++) {
        const char *const arguments[] = {"--print-completions", shells[s], NULL};
        ck_assert_int_eq(run(&cli_top, arguments), CLI_DONE);
        for (size_t i = 0; cli_commands[i]; i++) {
            ck_assert_msg(strstr(said, cli_commands[i]->name) != NULL, "%s in %s", cli_commands[i]->name, shells[s]);
            for (size_t k = 0; k < cli_commands[i]->option_count; k++)
                ck_assert_msg(strstr(said, cli_commands[i]->options[k].name) != NULL, "--%s in %s",
                              cli_commands[i]->options[k].name, shells[s]);
        }
    }
}
END_TEST

START_TEST(lets_the_option_for_colour_go_before_the_environment)
{
    FILE *file = tmpfile();
    struct cli_common common = {0};
    setenv("CLICOLOR_FORCE", "1", 1);
    unsetenv("NO_COLOR");
    ck_assert(cli_wants_colour(&common, file));
    common.colour = 3; /* never */
    ck_assert(!cli_wants_colour(&common, file));
    setenv("NO_COLOR", "1", 1);
    common.colour = 1; /* auto */
    ck_assert(!cli_wants_colour(&common, file));
    common.colour = 2; /* always */
    ck_assert(cli_wants_colour(&common, file));
    fclose(file);
}
END_TEST

HR_SUITE("cli/commands", finds_a_command_by_its_whole_name_and_hints_at_others,
         helps_with_every_command_and_does_nothing_else, asks_for_as_many_operands_as_a_command_takes,
         prints_completions_that_name_every_command_and_option, lets_the_option_for_colour_go_before_the_environment)
