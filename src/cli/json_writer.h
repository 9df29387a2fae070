/* SPDX-License-Identifier: ISC */
/* JSON (RFC 8259) written as it goes; no tree in memory.
 *
 *     struct json_writer json;
 *     json_start(&json, out, true);
 *     json_open(&json, NULL, '{');
 *     json_number(&json, "schema", 1);
 *     json_open(&json, "cards", '[');   members of an array have no key
 *     json_close(&json); json_close(&json);
 *     json_end(&json);
 *
 * Whatever bytes come in, the document is valid UTF-8. */
#ifndef HR_CLI_JSON_WRITER_H
#define HR_CLI_JSON_WRITER_H

#include <stdbool.h>
#include <stdint.h>

#include "cli/cli_output.h"

enum { CLI_SCHEMA = 1, JSON_DEPTH_MAX = 16 };

struct json_writer {
    struct cli_output *out;
    bool indented; /* else on one line */
    int depth;
    char closers[JSON_DEPTH_MAX];
    bool has_members[JSON_DEPTH_MAX + 1];
};

void json_start(struct json_writer *json, struct cli_output *out, bool indented);
/* `bracket` is '{' or '['. `key` is NULL within an array and at the top. */
void json_open(struct json_writer *json, const char *key, char bracket);
void json_close(struct json_writer *json);
void json_number(struct json_writer *json, const char *key, uint64_t value);
void json_signed(struct json_writer *json, const char *key, int64_t value);
/* Whole units: rates in bytes a second need no fraction. */
void json_rate(struct json_writer *json, const char *key, double value);
/* So many digits behind the point; null for what is no number. */
void json_decimal(struct json_writer *json, const char *key, double value, int digits);
void json_bool(struct json_writer *json, const char *key, bool value);
void json_null(struct json_writer *json, const char *key);
/* A sentence. What is no UTF-8 becomes U+FFFD. NULL reads as "". */
void json_text(struct json_writer *json, const char *key, const char *text);
/* Sentences, each a member of an array. */
void json_texts(struct json_writer *json, const char *key, const char *const *texts, size_t count);
/* A name of bytes, escaped reversibly (<headrace/name.h>). */
void json_name(struct json_writer *json, const char *key, const char *name);
void json_name_bytes(struct json_writer *json, const char *key, const char *name, size_t size);
/* Every line of `lines`, as a name, a member of an array. */
void json_lines(struct json_writer *json, const char *key, const char *lines);
/* Ends the document, in which all is closed; another may follow. */
void json_end(struct json_writer *json);

#endif
