/* SPDX-License-Identifier: ISC */
#include "cli/options.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#include <headrace/name.h>

#include "base/checked.h"
#include "base/fault.h"
#include "base/text.h"
#include "cli/suggest.h"
#include "cli/until.h"

struct parse {
    const struct cli_option *options;
    size_t count;
    char *settings;
    const char *const *next; /* the argument to look at */
    struct hr_fault *fault;
};

const struct cli_option *cli_option_named(const struct cli_option *options, size_t count, const char *name, size_t size)
{
    for (size_t i = 0; i < count; i++)
        if (strlen(options[i].name) == size && memcmp(options[i].name, name, size) == 0)
            return &options[i];
    return NULL;
}

const struct cli_option *cli_option_lettered(const struct cli_option *options, size_t count, char letter)
{
    for (size_t i = 0; i < count; i++)
        if (options[i].letter && options[i].letter == letter)
            return &options[i];
    return NULL;
}

enum { SHOWN_SIZE = 128, SECONDS_MAX = 24 * 3600, DECIMAL_MAX = 1000000 };

/* The typed bytes made fit to be shown. */
static const char *show(char out[SHOWN_SIZE], const char *typed, size_t size)
{
    hr_escape_name(out, SHOWN_SIZE, typed, size);
    return out;
}

static const char *hint(char out[SHOWN_SIZE], const char *prefix, const struct suggestion *suggestion)
{
    out[0] = '\0';
    if (suggestion->best)
        snprintf(out, SHOWN_SIZE, "; did you mean %s%s?", prefix, suggestion->best);
    return out;
}

static enum hr_status choose(int *out, const struct cli_option *option, const char *typed, size_t size,
                             struct hr_fault *fault)
{
    struct suggestion suggestion = {.typed = typed, .typed_size = size};
    char shown[SHOWN_SIZE], hinted[SHOWN_SIZE];
    struct hr_text all;
    hr__text_init(&all, HR_FAULT_TEXT_SIZE);
    *out = -1;
    for (int i = 0; option->choices[i]; i++) {
        if (strlen(option->choices[i]) == size && memcmp(option->choices[i], typed, size) == 0)
            *out = i;
        suggestion_offer(&suggestion, option->choices[i]);
        hr__text_printf(&all, "%s%s", i ? ", " : "", option->choices[i]);
    }
    if (*out < 0)
        hr__fault_set(fault, HR_INVALID, 0, "--%s takes %s, not '%s'%s", option->name, all.bytes,
                      show(shown, typed, size), hint(hinted, "", &suggestion));
    hr__text_finish(&all);
    return *out < 0 ? HR_INVALID : HR_OK;
}

static enum hr_status take_order(struct cli_order *order, const struct cli_option *option, const char *value,
                                 struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    order->count = 0;
    for (bool more = true; more && status == HR_OK;) {
        size_t size = strcspn(value, ",");
        if (order->count == CLI_LIST_MAX)
            status = hr__fault_set(fault, HR_INVALID, 0, "--%s has too many words", option->name);
        else
            status = choose(&order->items[order->count++], option, value, size, fault);
        more = value[size] == ',';
        value += size + more;
    }
    return status;
}

static enum hr_status take_next(struct cli_series *series, const struct cli_option *option, const char *value,
                                struct hr_fault *fault)
{
    if (series->count == CLI_SERIES_MAX)
        return hr__fault_set(fault, HR_INVALID, 0, "--%s: %d in a row at most", option->name, CLI_SERIES_MAX);
    series->items[series->count].name = option->name;
    series->items[series->count++].value = value;
    return HR_OK;
}

static enum hr_status store(struct parse *parse, const struct cli_option *option, const char *value)
{
    void *at = parse->settings + option->at;
    struct cli_texts *texts = at;
    enum hr_status status;
    char shown[SHOWN_SIZE];
    assert(value || option->kind == CLI_FLAG);
    switch (option->kind) {
    case CLI_FLAG:
        *(bool *)at = true;
        return HR_OK;
    case CLI_TEXT:
        *(const char **)at = value;
        break;
    case CLI_NUMBER:
        if (!hr__parse_u64(at, value, INT64_MAX) || *(uint64_t *)at == 0)
            return hr__fault_set(parse->fault, HR_INVALID, 0, "--%s wants a whole number from 1, not '%s'",
                                 option->name, show(shown, value, strlen(value)));
        break;
    case CLI_SECONDS:
        if (!hr__parse_decimal(at, value, SECONDS_MAX) || *(double *)at <= 0)
            return hr__fault_set(parse->fault, HR_INVALID, 0, "--%s wants seconds above 0, as 4 or 2.5, not '%s'",
                                 option->name, show(shown, value, strlen(value)));
        break;
    case CLI_DECIMAL:
        if (!hr__parse_decimal(at, value, DECIMAL_MAX) || *(double *)at <= 0)
            return hr__fault_set(parse->fault, HR_INVALID, 0, "--%s wants a number above 0, as 20 or 17.9, not '%s'",
                                 option->name, show(shown, value, strlen(value)));
        break;
    case CLI_DEADLINE:
        if (!cli_until_parse(at, value, cli_until_now_ns()))
            return hr__fault_set(parse->fault, HR_INVALID, 0, "--%s wants a time, as 12min, 90s, 1h or 15:42, not '%s'",
                                 option->name, show(shown, value, strlen(value)));
        break;
    case CLI_CHOICE:
        status = choose(at, option, value, strlen(value), parse->fault);
        *(int *)at += 1;
        return status;
    case CLI_TEXTS:
        if (texts->count == CLI_LIST_MAX)
            return hr__fault_set(parse->fault, HR_INVALID, 0, "--%s can be given %d times at most", option->name,
                                 CLI_LIST_MAX);
        texts->items[texts->count++] = value;
        break;
    case CLI_SERIES:
        status = take_next(at, option, value, parse->fault);
        if (status != HR_OK)
            return status;
        break;
    case CLI_ORDER:
        return take_order(at, option, value, parse->fault);
    }
    if (*value == '\0')
        return hr__fault_set(parse->fault, HR_INVALID, 0, "--%s wants %s, not an empty word", option->name,
                             option->argument);
    return HR_OK;
}

/* `value` stands right behind the option (after '=' or the letter), or is NULL: then it is the next argument. */
static enum hr_status take(struct parse *parse, const struct cli_option *option, const char *value)
{
    if (!option->argument && value)
        return hr__fault_set(parse->fault, HR_INVALID, 0, "--%s takes no value", option->name);
    if (option->argument && !value) {
        if (!*parse->next)
            return hr__fault_set(parse->fault, HR_INVALID, 0, "--%s wants %s after it", option->name, option->argument);
        value = *parse->next++;
    }
    return store(parse, option, value);
}

static enum hr_status take_long(struct parse *parse, const char *argument)
{
    const char *name = argument + 2;
    size_t size = strcspn(name, "=");
    const struct cli_option *option = cli_option_named(parse->options, parse->count, name, size);
    if (option)
        return take(parse, option, name[size] ? name + size + 1 : NULL);
    struct suggestion suggestion = {.typed = name, .typed_size = size};
    for (size_t i = 0; i < parse->count; i++)
        suggestion_offer(&suggestion, parse->options[i].name);
    char shown[SHOWN_SIZE], hinted[SHOWN_SIZE];
    return hr__fault_set(parse->fault, HR_INVALID, 0, "no option --%s%s", show(shown, name, size),
                         hint(hinted, "--", &suggestion));
}

static enum hr_status take_letters(struct parse *parse, const char *argument)
{
    enum hr_status status = HR_OK;
    const char *letter = argument + 1;
    char shown[SHOWN_SIZE];
    while (*letter && status == HR_OK) {
        const struct cli_option *option = cli_option_lettered(parse->options, parse->count, *letter);
        if (!option)
            return hr__fault_set(parse->fault, HR_INVALID, 0, "no option -%s", show(shown, letter, 1));
        letter++;
        const char *value = option->argument && *letter ? letter : NULL;
        status = take(parse, option, value);
        if (value)
            break;
    }
    return status;
}

enum hr_status cli_options_parse(void *settings, struct cli_operands *operands, const struct cli_option *options,
                                 size_t option_count, const char *const *arguments, struct hr_fault *fault)
{
    struct parse parse = {options, option_count, settings, arguments, fault};
    enum hr_status status = HR_OK;
    bool options_ended = false;
    operands->count = 0;
    while (*parse.next && status == HR_OK) {
        const char *argument = *parse.next++;
        if (options_ended || argument[0] != '-' || argument[1] == '\0')
            operands->items[operands->count++] = argument;
        else if (strcmp(argument, "--") == 0)
            options_ended = true;
        else if (argument[1] == '-')
            status = take_long(&parse, argument);
        else
            status = take_letters(&parse, argument);
    }
    return status;
}
