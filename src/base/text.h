/* SPDX-License-Identifier: ISC */
/* A growing string with a ceiling.
 *
 * hr__text_init, any number of appends, then read `bytes` (always NUL-terminated once anything was appended, ""
 * before), then hr__text_finish. A failed append (memory, ceiling) makes the text `broken` and later appends do
 * nothing, so a writer checks once, at the end. May hold NUL bytes; `size` does not count the terminator. */
#ifndef HR_BASE_TEXT_H
#define HR_BASE_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

#include <headrace/status.h>

struct hr_text {
    char *bytes; /* owned; never NULL after init */
    size_t size;
    size_t capacity;
    size_t ceiling;
    bool broken;
};

void hr__text_init(struct hr_text *text, size_t ceiling_bytes);
void hr__text_finish(struct hr_text *text);
/* Empties it and forgives `broken`; keeps the memory. */
void hr__text_clear(struct hr_text *text);
void hr__text_append(struct hr_text *text, const char *string);
void hr__text_append_bytes(struct hr_text *text, const void *bytes, size_t size);
HR_PRINTF(2, 3) void hr__text_printf(struct hr_text *text, const char *format, ...);
HR_PRINTF(2, 0) void hr__text_vprintf(struct hr_text *text, const char *format, va_list arguments);
/* Appends the escaped form of a name (<headrace/name.h>). */
void hr__text_append_name(struct hr_text *text, const char *name, size_t size);
/* Hands the bytes over (caller frees with free()); NULL when broken. The text is then empty as after init. */
char *hr__text_take(struct hr_text *text);

#endif
