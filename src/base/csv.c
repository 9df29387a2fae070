/* SPDX-License-Identifier: ISC */
#include "base/csv.h"

#include <assert.h>
#include <stdbool.h>
#include <string.h>

void hr__csv_append_field(struct hr_text *out, const char *field)
{
    assert(field && !strpbrk(field, "\r\n"));
    if (!strpbrk(field, ",\"")) {
        hr__text_append(out, field);
        return;
    }
    hr__text_append(out, "\"");
    for (const char *quote; (quote = strchr(field, '"')); field = quote + 1) {
        hr__text_append_bytes(out, field, (size_t)(quote - field) + 1);
        hr__text_append(out, "\"");
    }
    hr__text_append(out, field);
    hr__text_append(out, "\"");
}

void hr__csv_append_row(struct hr_text *out, const char *const *fields, size_t field_count)
{
    for (size_t i = 0; i < field_count; i++) {
        if (i > 0)
            hr__text_append(out, ",");
        hr__csv_append_field(out, fields[i]);
    }
    hr__text_append(out, "\n");
}

/* Undoes the quotes of the field whose text begins at `field`; returns what follows the closing quote, NULL when there
 * is none. */
static char *unquote(char *field)
{
    char *from = field, *to = field;
    while (*from && (*from != '"' || from[1] == '"')) {
        from += *from == '"';
        *to++ = *from++;
    }
    if (!*from)
        return NULL;
    *to = '\0';
    return from + 1;
}

bool hr__csv_split_row(char *row, char **fields, size_t field_count)
{
    char *at = row;
    for (size_t i = 0; i < field_count; i++) {
        bool quoted = *at == '"';
        fields[i] = at + quoted;
        at = quoted ? unquote(fields[i]) : at + strcspn(at, ",\"");
        char wanted = i + 1 < field_count ? ',' : '\0';
        if (!at || *at != wanted)
            return false;
        *at = '\0';
        at += wanted != '\0';
    }
    return field_count > 0;
}
