/* SPDX-License-Identifier: ISC */
#include "bag/tag_file.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/array.h"

enum { TAGS_MAX = 1 << 16 };

static char *trim(char *text)
{
    text += strspn(text, " \t");
    size_t length = strlen(text);
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t'))
        length--;
    text[length] = '\0';
    return text;
}

/* The text of the last value lies before the line in memory, with at least the line's end between them. */
static void continue_value(struct hr_tags *tags, char *line)
{
    struct hr_tag *last = &tags->tags[tags->count - 1];
    char *end = tags->text + (last->value - tags->text) + strlen(last->value);
    line = trim(line);
    if (*last->value)
        *end++ = ' ';
    memmove(end, line, strlen(line) + 1);
}

static bool add_line(struct hr_tags *tags, char *line)
{
    bool is_indented = *line == ' ' || *line == '\t';
    char *colon = strchr(line, ':');
    if (is_indented && tags->count > 0) {
        continue_value(tags, line);
        return true;
    }
    if (is_indented || !colon || colon == line) {
        tags->malformed_lines += *trim(line) != '\0';
        return true;
    }
    if (!hr__array_reserve(&tags->tags, &tags->capacity, tags->count + 1, sizeof *tags->tags, TAGS_MAX))
        return false;
    *colon = '\0';
    tags->tags[tags->count++] = (struct hr_tag){.label = trim(line), .value = trim(colon + 1)};
    return true;
}

enum hr_status hr__tags_parse(struct hr_tags *out, const char *text, size_t size)
{
    struct hr_tags tags = {.text = malloc(size + 1)};
    bool has_room = tags.text != NULL;
    if (has_room) {
        memcpy(tags.text, text, size);
        tags.text[size] = '\0';
    }
    for (char *line = tags.text, *next; has_room && *line; line = next) {
        size_t length = strcspn(line, "\r\n");
        next = line + length + (line[length] != '\0');
        line[length] = '\0';
        has_room = length == 0 || add_line(&tags, line);
    }
    if (has_room)
        *out = tags;
    else
        hr__tags_finish(&tags);
    return has_room ? HR_OK : HR_NOMEM;
}

void hr__tags_finish(struct hr_tags *tags)
{
    free(tags->text);
    free(tags->tags);
    *tags = (struct hr_tags){0};
}

const char *hr__tags_find(const struct hr_tags *tags, const char *label, size_t *count)
{
    const char *found = NULL;
    size_t matches = 0;
    for (size_t i = 0; i < tags->count; i++)
        if (!strcasecmp(tags->tags[i].label, label)) {
            found = found ? found : tags->tags[i].value;
            matches++;
        }
    if (count)
        *count = matches;
    return found;
}

bool hr__tag_value_is_fit(const char *value)
{
    size_t length = strlen(value);
    for (const char *at = value; *at; at++)
        if ((unsigned char)*at < 0x20 || *at == 0x7f)
            return false;
    return length == 0 || (value[0] != ' ' && value[length - 1] != ' ');
}

void hr__tag_append(struct hr_text *out, const char *label, const char *value)
{
    hr__text_append(out, label);
    hr__text_append(out, ": ");
    hr__text_append(out, value);
    hr__text_append(out, "\n");
}
