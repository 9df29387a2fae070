/* SPDX-License-Identifier: ISC */
/* Reading rules. */
#include "faulty_rules.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS_MAX = 16, LINE_MAX_BYTES = 1024 };

#define BIT(call) (1u << (call))
#define CHANGES                                                                                                        \
    (BIT(FAULTY_CREATE) | BIT(FAULTY_WRITE) | BIT(FAULTY_RENAME) | BIT(FAULTY_REMOVE) | BIT(FAULTY_MKDIR) |            \
     BIT(FAULTY_CUT) | BIT(FAULTY_STAMP))
#define ALL (BIT(FAULTY_CALL_COUNT) - 1)
#define DATA (BIT(FAULTY_READ) | BIT(FAULTY_WRITE))

static const char *const call_names[FAULTY_CALL_COUNT] = {
    "stat", "list", "open", "create", "read", "write", "sync", "close", "rename", "remove", "mkdir", "cut", "stamp"};

static const struct {
    const char *name;
    unsigned calls; /* that can be harmed so */
} harms[FAULTY_HARM_COUNT] = {
    [FAULTY_NONE] = {"", 0},
    [FAULTY_FAIL] = {"error", ALL},
    [FAULTY_FLIP] = {"flip", DATA},
    [FAULTY_ZERO_BLOCK] = {"zero-block", DATA},
    [FAULTY_OTHER_BLOCK] = {"other-block", DATA},
    [FAULTY_FOREIGN_BLOCK] = {"foreign-block", DATA},
    [FAULTY_TORN_TAIL] = {"torn-tail", BIT(FAULTY_WRITE)},
    [FAULTY_LOST] = {"lost", BIT(FAULTY_WRITE)},
    [FAULTY_SHORT] = {"short", DATA},
    [FAULTY_DROP] = {"drop", BIT(FAULTY_SYNC)},
    [FAULTY_SLOW] = {"slow", ALL},
    [FAULTY_VANISH] = {"vanish", ALL},
};

#define ERROR(name)                                                                                                    \
    {                                                                                                                  \
#name, name                                                                                                    \
    }
static const struct {
    const char *name;
    int number;
} errors[] = {
    ERROR(EIO),    ERROR(ENOSPC), ERROR(EDQUOT), ERROR(EROFS),  ERROR(ENOENT), ERROR(EACCES),    ERROR(EPERM),
    ERROR(ENODEV), ERROR(ENXIO),  ERROR(EEXIST), ERROR(ESTALE), ERROR(EBUSY),  ERROR(ETIMEDOUT), ERROR(ENOTCONN),
    ERROR(EINTR),  ERROR(EAGAIN), ERROR(ENOMEM), ERROR(EMFILE), ERROR(EFBIG),  ERROR(EINVAL),    ERROR(EOPNOTSUPP),
};

const char *faulty_call_name(enum faulty_call call)
{
    return call_names[call];
}

const char *faulty_harm_name(enum faulty_harm harm)
{
    return harms[harm].name;
}

static bool parse_calls(struct faulty_rule *rule, const char *word)
{
    rule->calls = !strcmp(word, "change") ? CHANGES : !strcmp(word, "any") ? ALL : 0;
    for (unsigned call = 0; call < FAULTY_CALL_COUNT; call++)
        if (!strcmp(word, call_names[call]))
            rule->calls = BIT(call);
    return rule->calls != 0;
}

static bool parse_harm(struct faulty_rule *rule, const char *word)
{
    for (size_t i = 0; i < sizeof errors / sizeof *errors; i++)
        if (!strcmp(word, errors[i].name)) {
            rule->harm = FAULTY_FAIL;
            rule->error = errors[i].number;
            rule->error_name = errors[i].name;
            return true;
        }
    for (unsigned harm = FAULTY_FLIP; harm < FAULTY_HARM_COUNT; harm++)
        if (!strcmp(word, harms[harm].name))
            rule->harm = (enum faulty_harm)harm;
    return rule->harm != FAULTY_NONE;
}

static bool parse_number(uint64_t *out, const char *text, uint64_t smallest)
{
    char *end;
    errno = 0;
    *out = strtoull(text, &end, 10);
    return *text >= '0' && *text <= '9' && !*end && !errno && *out >= smallest;
}

/* %XX is the byte, so that a blank can be said. */
static bool parse_text(char *into, size_t into_size, const char *text)
{
    size_t size = 0;
    while (*text && size + 1 < into_size) {
        unsigned byte = (unsigned char)*text++;
        if (byte == '%') {
            if (strspn(text, "0123456789ABCDEFabcdef") < 2 || sscanf(text, "%2x", &byte) != 1)
                return false;
            text += 2;
        }
        into[size++] = (char)byte;
    }
    into[size] = '\0';
    return size > 0 && !*text;
}

static bool parse_condition(struct faulty_rule *rule, const char *word)
{
    const struct {
        const char *name;
        uint64_t *at;
        uint64_t smallest;
    } numbers[] = {
        {"offset=", &rule->offset, 0},   {"after=", &rule->after, 1},
        {"skip=", &rule->skip, 1},       {"every=", &rule->every, 1},
        {"opening=", &rule->opening, 1}, {"opening_every=", &rule->opening_every, 1},
        {"chance=", &rule->chance, 1},   {"times=", &rule->times, 1},
        {"ms=", &rule->ms, 1},           {"bytes_per_s=", &rule->bytes_per_s, 1},
    };
    if (!strcmp(word, "once")) {
        rule->times = 1;
        return true;
    }
    if (!strncmp(word, "path=", 5))
        return parse_text(rule->path, sizeof rule->path, word + 5);
    if (!strncmp(word, "holds=", 6))
        return parse_text(rule->holds, sizeof rule->holds, word + 6);
    rule->has_offset |= !strncmp(word, "offset=", 7);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
        if (!strncmp(word, numbers[i].name, strlen(numbers[i].name)))
            return parse_number(numbers[i].at, word + strlen(numbers[i].name), numbers[i].smallest);
    return false;
}

static const char *find_nonsense(const struct faulty_rule *rule)
{
    bool has_data_condition = rule->has_offset || *rule->holds || rule->after || rule->bytes_per_s;
    if (rule->calls != ALL && (rule->calls & ~harms[rule->harm].calls))
        return "that harm cannot be done to that call";
    if (rule->calls == ALL && !(harms[rule->harm].calls == ALL))
        return "that harm cannot be done to every call";
    if ((rule->harm == FAULTY_SLOW) != (rule->ms || rule->bytes_per_s))
        return "slow, and slow alone, takes ms=N or bytes_per_s=N";
    if (has_data_condition && !(rule->calls & DATA))
        return "offset=, holds=, after= and bytes_per_s= are for what is read or written";
    if (rule->chance > 100)
        return "chance= is in percent";
    return NULL;
}

static size_t split(char *words[WORDS_MAX], char *line)
{
    size_t count = 0;
    line[strcspn(line, "#\n")] = '\0';
    for (char *word = line + strspn(line, " \t"); *word && count < WORDS_MAX; word += strspn(word, " \t")) {
        words[count++] = word;
        word += strcspn(word, " \t");
        if (*word)
            *word++ = '\0';
    }
    return count;
}

bool faulty_rules_add(struct faulty_rules *rules, const char *line, char *complaint, size_t complaint_size)
{
    char copy[LINE_MAX_BYTES], *words[WORDS_MAX];
    struct faulty_rule rule = {0};
    const char *nonsense = NULL, *culprit = "";
    if ((size_t)snprintf(copy, sizeof copy, "%s", line) >= sizeof copy)
        nonsense = "too long a rule";
    size_t count = nonsense ? 0 : split(words, copy);
    if (!nonsense && count == 0)
        return true;
    if (!nonsense && !parse_calls(&rule, culprit = words[0]))
        nonsense = "no such call";
    if (!nonsense && (count < 2 || !parse_harm(&rule, culprit = words[1])))
        nonsense = "no such harm";
    for (size_t i = 2; i < count && !nonsense; i++)
        if (!parse_condition(&rule, culprit = words[i]))
            nonsense = "no such condition";
    if (!nonsense)
        nonsense = find_nonsense(&rule);
    if (!nonsense && rules->count == FAULTY_RULES_MAX)
        nonsense = "too many rules";
    if (nonsense)
        snprintf(complaint, complaint_size, "%s: %s (%s)", line, nonsense, culprit);
    else
        rules->rules[rules->count++] = rule;
    return !nonsense;
}
