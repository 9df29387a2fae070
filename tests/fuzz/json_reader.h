/* SPDX-License-Identifier: ISC */
/* A strict reader of JSON, to judge a writer by: RFC 8259 to the letter, one document with a line feed behind it, valid
 * UTF-8. */
#ifndef HR_TESTS_JSON_READER_H
#define HR_TESTS_JSON_READER_H

#include <stdbool.h>
#include <stddef.h>

/* `see` gets each string as it was before it was written; it may be NULL. False where the text is no such document. */
bool json_read(const char *bytes, size_t size, void (*see)(void *context, const char *text, size_t size, bool is_key),
               void *context);

static inline bool json_is_valid(const char *bytes, size_t size)
{
    return json_read(bytes, size, NULL, NULL);
}

#endif
