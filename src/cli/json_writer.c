/* SPDX-License-Identifier: ISC */
#include "cli/json_writer.h"

#include <assert.h>
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "base/utf8.h"

void json_start(struct json_writer *json, struct cli_output *out, bool indented)
{
    *json = (struct json_writer){.out = out, .indented = indented};
}

static void break_line(struct json_writer *json)
{
    if (json->indented)
        cli_output_printf(json->out, "\n%*s", 2 * json->depth, "");
}

static void put_character(struct hr_text *text, const char *bytes, size_t length)
{
    unsigned char first = (unsigned char)*bytes;
    if (length == 0)
        hr__text_append(text, "\\ufffd");
    else if (first == '"' || first == '\\')
        hr__text_printf(text, "\\%c", first);
    else if (first == '\n')
        hr__text_append(text, "\\n");
    else if (first < 0x20)
        hr__text_printf(text, "\\u%04x", first);
    else
        hr__text_append_bytes(text, bytes, length);
}

/* The bytes that stand in a string as they are, up to the first that needs a look. */
static size_t plain_length(const char *string, size_t size)
{
    size_t length = 0;
    while (length < size && string[length] >= 0x20 && string[length] < 0x7f && string[length] != '"' &&
           string[length] != '\\')
        length++;
    return length;
}

static void put_string(struct json_writer *json, const char *string, size_t size)
{
    struct hr_text text;
    hr__text_init(&text, 6 * size + 2);
    hr__text_append(&text, "\"");
    while (size > 0) {
        size_t plain = plain_length(string, size), length = plain ? plain : hr__utf8_length(string, size);
        size_t taken = length ? length : 1;
        if (plain)
            hr__text_append_bytes(&text, string, plain);
        else
            put_character(&text, string, length);
        string += taken;
        size -= taken;
    }
    hr__text_append(&text, "\"");
    cli_output_append(json->out, text.bytes);
    json->out->text.broken |= text.broken;
    hr__text_finish(&text);
}

/* Everything that stands before a value. */
static void begin_member(struct json_writer *json, const char *key)
{
    assert((key != NULL) == (json->depth > 0 && json->closers[json->depth - 1] == '}'));
    if (json->has_members[json->depth])
        cli_output_append(json->out, ",");
    if (json->depth > 0)
        break_line(json);
    json->has_members[json->depth] = true;
    if (key) {
        put_string(json, key, strlen(key));
        cli_output_append(json->out, json->indented ? ": " : ":");
    }
}

void json_open(struct json_writer *json, const char *key, char bracket)
{
    assert(json->depth < JSON_DEPTH_MAX);
    begin_member(json, key);
    cli_output_append(json->out, bracket == '{' ? "{" : "[");
    json->closers[json->depth++] = bracket == '{' ? '}' : ']';
    json->has_members[json->depth] = false;
}

void json_close(struct json_writer *json)
{
    assert(json->depth > 0);
    bool had_members = json->has_members[json->depth];
    json->depth--;
    if (had_members)
        break_line(json);
    cli_output_append(json->out, json->closers[json->depth] == '}' ? "}" : "]");
}

void json_number(struct json_writer *json, const char *key, uint64_t value)
{
    begin_member(json, key);
    cli_output_printf(json->out, "%" PRIu64, value);
}

void json_signed(struct json_writer *json, const char *key, int64_t value)
{
    begin_member(json, key);
    cli_output_printf(json->out, "%" PRId64, value);
}

void json_rate(struct json_writer *json, const char *key, double value)
{
    json_number(json, key, value > 0 && value < 1e18 ? (uint64_t)(value + 0.5) : 0);
}

void json_decimal(struct json_writer *json, const char *key, double value, int digits)
{
    begin_member(json, key);
    if (isfinite(value))
        cli_output_printf(json->out, "%.*f", digits, value);
    else
        cli_output_append(json->out, "null");
}

void json_bool(struct json_writer *json, const char *key, bool value)
{
    begin_member(json, key);
    cli_output_append(json->out, value ? "true" : "false");
}

void json_null(struct json_writer *json, const char *key)
{
    begin_member(json, key);
    cli_output_append(json->out, "null");
}

void json_text(struct json_writer *json, const char *key, const char *text)
{
    begin_member(json, key);
    put_string(json, text ? text : "", text ? strlen(text) : 0);
}

void json_name_bytes(struct json_writer *json, const char *key, const char *name, size_t size)
{
    struct hr_text escaped;
    hr__text_init(&escaped, 3 * size);
    hr__text_append_name(&escaped, name, size);
    begin_member(json, key);
    put_string(json, escaped.bytes, escaped.size);
    json->out->text.broken |= escaped.broken;
    hr__text_finish(&escaped);
}

void json_name(struct json_writer *json, const char *key, const char *name)
{
    json_name_bytes(json, key, name, strlen(name));
}

void json_texts(struct json_writer *json, const char *key, const char *const *texts, size_t count)
{
    json_open(json, key, '[');
    for (size_t i = 0; i < count; i++)
        json_text(json, NULL, texts[i]);
    json_close(json);
}

void json_lines(struct json_writer *json, const char *key, const char *lines)
{
    json_open(json, key, '[');
    while (*lines) {
        size_t size = strcspn(lines, "\n");
        json_name_bytes(json, NULL, lines, size);
        lines += size + (lines[size] == '\n');
    }
    json_close(json);
}

void json_end(struct json_writer *json)
{
    assert(json->depth == 0);
    json->has_members[0] = false;
    cli_output_append(json->out, "\n");
}
