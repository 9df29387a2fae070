/* SPDX-License-Identifier: ISC */
#include "cli/cli.h"
#include "cli/options.h"
#include "cli/suggest.h"
#include "suite.h"

#include <stdio.h>
#include <string.h>

#include <headrace/card.h>
#include <headrace/digest.h>

static const char *const speeds[] = {"slow", "quick", NULL};
static const char *const keys[] = {"protected", "rated", "newest", NULL};

struct settings {
    bool loud;
    const char *name;
    uint64_t limit;
    double gap_s;
    int speed;
    struct cli_texts places;
    struct cli_order first;
    double rate;
    struct cli_series steps;
};

#define AT(member) offsetof(struct settings, member)
static const struct cli_option rows[] = {
    {.name = "loud", .letter = 'l', .kind = CLI_FLAG, .at = AT(loud)},
    {.name = "name", .letter = 'n', .kind = CLI_TEXT, .at = AT(name), .argument = "NAME"},
    {.name = "limit", .kind = CLI_NUMBER, .at = AT(limit), .argument = "N"},
    {.name = "gap", .kind = CLI_SECONDS, .at = AT(gap_s), .argument = "SECONDS"},
    {.name = "speed", .kind = CLI_CHOICE, .at = AT(speed), .argument = "HOW", .choices = speeds},
    {.name = "to", .letter = 't', .kind = CLI_TEXTS, .at = AT(places), .argument = "PLACE"},
    {.name = "rate", .kind = CLI_DECIMAL, .at = AT(rate), .argument = "R"},
    {.name = "up", .kind = CLI_SERIES, .at = AT(steps), .argument = "N"},
    {.name = "down", .letter = 'd', .kind = CLI_SERIES, .at = AT(steps), .argument = "N"},
    {.name = "first", .kind = CLI_ORDER, .at = AT(first), .argument = "LIST", .choices = keys},
};

enum { WORDS_MAX = 40 };

struct parsed {
    struct settings settings;
    const char *items[WORDS_MAX];
    struct cli_operands operands;
    struct hr_fault fault;
    enum hr_status status;
    char words[256];
};

/* Words are separated by one space; "" is an empty word. */
static void parse(struct parsed *parsed, const char *line)
{
    const char *arguments[WORDS_MAX] = {NULL};
    size_t count = 0;
    *parsed = (struct parsed){.operands = {.items = parsed->items}};
    snprintf(parsed->words, sizeof parsed->words, "%s", line);
    for (char *word = *line ? parsed->words : NULL; word;) {
        char *space = strchr(word, ' ');
        if (space)
            *space = '\0';
        arguments[count++] = strcmp(word, "\"\"") == 0 ? "" : word;
        word = space ? space + 1 : NULL;
    }
    parsed->status = cli_options_parse(&parsed->settings, &parsed->operands, rows, sizeof rows / sizeof *rows,
                                       arguments, &parsed->fault);
}

/* What was understood, as text. */
static const char *show(char out[256], const struct parsed *parsed)
{
    const struct settings *settings = &parsed->settings;
    int at = snprintf(out, 256, "%s|%s|%llu|%d|", settings->loud ? "loud" : "", settings->name ? settings->name : "",
                      (unsigned long long)settings->limit, settings->speed);
    for (size_t i = 0; i < settings->places.count; i++)
        at += snprintf(out + at, 256 - (size_t)at, "%s ", settings->places.items[i]);
    at += snprintf(out + at, 256 - (size_t)at, "|");
    for (size_t i = 0; i < settings->first.count; i++)
        at += snprintf(out + at, 256 - (size_t)at, "%d ", settings->first.items[i]);
    at += snprintf(out + at, 256 - (size_t)at, "|");
    for (size_t i = 0; i < parsed->operands.count; i++)
        at += snprintf(out + at, 256 - (size_t)at, "%s ", parsed->operands.items[i]);
    return out;
}

START_TEST(understands_options_wherever_they_stand)
{
    static const struct {
        const char *line, *meaning;
    } cases[] = {
        {"", "||0|0|||"},
        {"A B", "||0|0|||A B "},
        {"--loud A", "loud||0|0|||A "},
        {"A --loud B", "loud||0|0|||A B "},
        {"A B -l", "loud||0|0|||A B "},
        {"--name x", "|x|0|0|||"},
        {"--name=x", "|x|0|0|||"},
        {"--name=", NULL},
        {"-nx -l", "loud|x|0|0|||"},
        {"-ln x", "loud|x|0|0|||"},
        {"-n -l", "|-l|0|0|||"},
        {"--name --loud", "|--loud|0|0|||"},
        {"--to a -t b -tc D", "||0|0|a b c ||D "},
        {"--limit 9223372036854775807", "||9223372036854775807|0|||"},
        {"--speed quick", "||0|2|||"},
        {"--speed=slow", "||0|1|||"},
        {"--first newest,protected", "||0|0||2 0 |"},
        {"--first rated", "||0|0||1 |"},
        {"--first rated --first newest", "||0|0||2 |"},
        {"-- --loud -l", "||0|0|||--loud -l "},
        {"A -- --", "||0|0|||A -- "},
        {"- --loud", "loud||0|0|||- "},
        {"\"\"", "||0|0||| "},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct parsed parsed;
        char shown[256];
        parse(&parsed, cases[i].line);
        if (cases[i].meaning) {
            ck_assert_msg(parsed.status == HR_OK, "%s: %s", cases[i].line, parsed.fault.text);
            ck_assert_str_eq(show(shown, &parsed), cases[i].meaning);
        } else {
            ck_assert_int_eq(parsed.status, HR_INVALID);
        }
    }
}
END_TEST

START_TEST(refuses_with_a_sentence_and_a_suggestion)
{
    static const struct {
        const char *line, *sentence;
    } cases[] = {
        {"--lou", "no option --lou; did you mean --loud?"},
        {"--luod", "no option --luod; did you mean --loud?"},
        {"--shutter", "no option --shutter"},
        {"--l", "no option --l"},
        {"--Loud", "no option --Loud; did you mean --loud?"},
        {"-x", "no option -x"},
        {"-lx", "no option -x"},
        {"-l\303\244", "no option -%C3"},
        {"--a%\nb", "no option --a%25%0Ab"},
        {"--loud=yes", "--loud takes no value"},
        {"--name", "--name wants NAME after it"},
        {"A -n", "--name wants NAME after it"},
        {"--name \"\"", "--name wants NAME, not an empty word"},
        {"--limit ten", "--limit wants a whole number from 1, not 'ten'"},
        {"--limit 0", "--limit wants a whole number from 1, not '0'"},
        {"--limit -1", "--limit wants a whole number from 1, not '-1'"},
        {"--limit 9223372036854775808", "--limit wants a whole number from 1, not '9223372036854775808'"},
        {"--speed quik", "--speed takes slow, quick, not 'quik'; did you mean quick?"},
        {"--speed \"\"", "--speed takes slow, quick, not ''"},
        {"--first rated,", "--first takes protected, rated, newest, not ''"},
        {"--first rated,newst", "--first takes protected, rated, newest, not 'newst'; did you mean newest?"},
        {"--to 1 -t2 -t3 -t4 -t5 -t6 -t7 -t8 -t9 -t10 -t11 -t12 -t13 -t14 -t15 -t16 -t17",
         "--to can be given 16 times at most"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct parsed parsed;
        parse(&parsed, cases[i].line);
        ck_assert_msg(parsed.status == HR_INVALID, "%s", cases[i].line);
        ck_assert_str_eq(parsed.fault.text, cases[i].sentence);
    }
}
END_TEST

START_TEST(takes_seconds_with_a_fraction)
{
    struct parsed parsed;
    parse(&parsed, "A");
    ck_assert_double_eq(parsed.settings.gap_s, 0);
    parse(&parsed, "--gap 2.5");
    ck_assert_int_eq(parsed.status, HR_OK);
    ck_assert_double_eq(parsed.settings.gap_s, 2.5);
    static const char *const refused[] = {"--gap 0",     "--gap -1",  "--gap four",
                                          "--gap 86401", "--gap 2,5", "--gap \"\""};
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        parse(&parsed, refused[i]);
        ck_assert_msg(parsed.status == HR_INVALID, "%s", refused[i]);
    }
    ck_assert_str_eq(parsed.fault.text, "--gap wants seconds above 0, as 4 or 2.5, not ''");
}
END_TEST

START_TEST(takes_a_number_with_a_fraction)
{
    struct parsed parsed;
    parse(&parsed, "--rate 17.9");
    ck_assert_int_eq(parsed.status, HR_OK);
    ck_assert_double_eq(parsed.settings.rate, 17.9);
    static const char *const refused[] = {"--rate 0", "--rate -1", "--rate 1e3", "--rate 1000001", "--rate ten"};
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        parse(&parsed, refused[i]);
        ck_assert_msg(parsed.status == HR_INVALID, "%s", refused[i]);
    }
    ck_assert_str_eq(parsed.fault.text, "--rate wants a number above 0, as 20 or 17.9, not 'ten'");
}
END_TEST

START_TEST(keeps_options_of_a_series_in_the_order_given)
{
    struct parsed parsed;
    parse(&parsed, "--up 1 -d2 A --up=3 --up 4 --down 5");
    ck_assert_int_eq(parsed.status, HR_OK);
    static const char *const wanted[][2] = {{"up", "1"}, {"down", "2"}, {"up", "3"}, {"up", "4"}, {"down", "5"}};
    ck_assert_uint_eq(parsed.settings.steps.count, sizeof wanted / sizeof *wanted);
    for (size_t i = 0; i < parsed.settings.steps.count; i++) {
        ck_assert_str_eq(parsed.settings.steps.items[i].name, wanted[i][0]);
        ck_assert_str_eq(parsed.settings.steps.items[i].value, wanted[i][1]);
    }
    parse(&parsed, "--up \"\"");
    ck_assert_str_eq(parsed.fault.text, "--up wants N, not an empty word");
}
END_TEST

START_TEST(a_series_has_an_end)
{
    struct settings settings = {0};
    const char *arguments[2 * CLI_SERIES_MAX + 3] = {NULL}, *items[1];
    struct cli_operands operands = {.items = items};
    struct hr_fault fault = {0};
    for (size_t i = 0; i <= CLI_SERIES_MAX; i++) {
        arguments[2 * i] = "--up";
        arguments[2 * i + 1] = "1";
    }
    ck_assert_int_eq(cli_options_parse(&settings, &operands, rows, sizeof rows / sizeof *rows, arguments, &fault),
                     HR_INVALID);
    ck_assert_str_eq(fault.text, "--up: 128 in a row at most");
}
END_TEST

START_TEST(counts_edits_as_optimal_string_alignment)
{
    /* Pairs whose distance is the usual textbook one; from memory. */
    static const struct {
        const char *a, *b;
        size_t distance;
    } cases[] = {{"kitten", "sitting", 3}, {"", "abc", 3},  {"saturday", "sunday", 3},
                 {"ca", "abc", 3},         {"ab", "ba", 1}, {"same", "same", 0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *a = cases[i].a, *b = cases[i].b;
        ck_assert_uint_eq(suggestion_distance(a, strlen(a), b, strlen(b)), cases[i].distance);
        ck_assert_uint_eq(suggestion_distance(b, strlen(b), a, strlen(a)), cases[i].distance);
    }
}
END_TEST

START_TEST(finds_the_command_wherever_it_stands)
{
    static const struct {
        const char *words[6], *name, *left[6];
    } cases[] = {
        {{NULL}, "headrace", {NULL}},
        {{"safe", "A", NULL}, "safe", {"A", NULL}},
        {{"--json", "safe", "A", NULL}, "safe", {"--json", "A", NULL}},
        {{"--to", "safe", "offload", "A", NULL}, "offload", {"--to", "safe", "A", NULL}},
        {{"--to=x", "offload", "A", NULL}, "offload", {"--to=x", "A", NULL}},
        {{"-t", "x", "offload", NULL}, "offload", {"-t", "x", NULL}},
        {{"-q", "safe", NULL}, "safe", {"-q", NULL}},
        {{"--help", NULL}, "headrace", {"--help", NULL}},
        {{"--ledger", NULL}, "headrace", {"--ledger", NULL}},
        {{"--", "safe", NULL}, "headrace", {"--", "safe", NULL}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *words[6];
        struct hr_fault fault = {0};
        memcpy(words, cases[i].words, sizeof words);
        const struct cli_command *command = cli_command_take(words, &fault);
        ck_assert_ptr_nonnull(command);
        ck_assert_str_eq(command->name, cases[i].name);
        for (size_t k = 0; cases[i].left[k]; k++)
            ck_assert_str_eq(words[k], cases[i].left[k]);
    }
}
END_TEST

START_TEST(options_of_one_name_take_an_argument_alike_in_all_commands)
{
    for (size_t i = 0; cli_commands[i]; i++)
        for (size_t k = 0; k < cli_commands[i]->option_count; k++)
            for (size_t j = 0; cli_commands[j]; j++) {
                const struct cli_option *one = &cli_commands[i]->options[k];
                const struct cli_option *other = cli_option_named(
                    cli_commands[j]->options, cli_commands[j]->option_count, one->name, strlen(one->name));
                ck_assert_msg(!other || (!one->argument == !other->argument && one->letter == other->letter), "--%s",
                              one->name);
            }
}
END_TEST

static void check_shell_text(const char *text)
{
    ck_assert_msg(!strpbrk(text, "'\"[]`$\\"), "%s", text);
}

START_TEST(help_lines_are_short_and_fit_shell_text)
{
    for (size_t i = 0; cli_commands[i]; i++) {
        const struct cli_command *command = cli_commands[i];
        check_shell_text(command->summary);
        ck_assert_uint_le(strlen(command->summary), 64);
        for (size_t k = 0; k < command->option_count; k++) {
            ck_assert_uint_le(strlen(command->options[k].help), 60);
            check_shell_text(command->options[k].help);
        }
    }
}
END_TEST

START_TEST(choices_of_verify_are_the_library_s_digests_in_order)
{
    const struct cli_option *digest =
        cli_option_named(cli_verify.options, cli_verify.option_count, "digest", strlen("digest"));
    ck_assert_ptr_nonnull(digest);
    for (unsigned kind = HR_DIGEST_NONE + 1; kind < HR_DIGEST_KIND_COUNT; kind++)
        ck_assert_str_eq(digest->choices[kind - 1], hr_digest_kind_name((enum hr_digest_kind)kind));
}
END_TEST

START_TEST(words_of_first_are_the_library_s_keys_in_order)
{
    const struct cli_option *first =
        cli_option_named(cli_offload.options, cli_offload.option_count, "first", strlen("first"));
    ck_assert_ptr_nonnull(first);
    for (unsigned key = 0; key < HR_FIRST_COUNT; key++)
        ck_assert_str_eq(first->choices[key], hr_first_name((enum hr_first)key));
    ck_assert_ptr_null(first->choices[HR_FIRST_COUNT]);
}
END_TEST

HR_SUITE("cli/options", understands_options_wherever_they_stand, refuses_with_a_sentence_and_a_suggestion,
         takes_seconds_with_a_fraction, takes_a_number_with_a_fraction, keeps_options_of_a_series_in_the_order_given,
         a_series_has_an_end, counts_edits_as_optimal_string_alignment, finds_the_command_wherever_it_stands,
         options_of_one_name_take_an_argument_alike_in_all_commands, help_lines_are_short_and_fit_shell_text,
         choices_of_verify_are_the_library_s_digests_in_order, words_of_first_are_the_library_s_keys_in_order)
