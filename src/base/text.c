/* SPDX-License-Identifier: ISC */
#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "base/array.h"
#include "base/checked.h"

/* Makes room for `more` bytes and the terminator behind them. */
static bool reserve(struct hr_text *text, size_t more)
{
    char *bytes = text->capacity ? text->bytes : NULL;
    size_t size, needed, ceiling;
    bool fits = !text->broken && hr__add_size(&size, text->size, more) && size <= text->ceiling &&
                hr__add_size(&needed, size, 1) && hr__add_size(&ceiling, text->ceiling, 1) &&
                hr__array_reserve(&bytes, &text->capacity, needed, 1, ceiling);
    if (fits)
        text->bytes = bytes;
    else
        text->broken = true;
    return fits;
}

void hr__text_init(struct hr_text *text, size_t ceiling_bytes)
{
    *text = (struct hr_text){.bytes = "", .ceiling = ceiling_bytes};
}

void hr__text_finish(struct hr_text *text)
{
    if (text->capacity)
        free(text->bytes);
    hr__text_init(text, text->ceiling);
}

void hr__text_clear(struct hr_text *text)
{
    text->size = 0;
    text->broken = false;
    if (text->capacity)
        text->bytes[0] = '\0';
}

void hr__text_append(struct hr_text *text, const char *string)
{
    hr__text_append_bytes(text, string, strlen(string));
}

void hr__text_append_bytes(struct hr_text *text, const void *bytes, size_t size)
{
    if (!reserve(text, size))
        return;
    if (size)
        memcpy(text->bytes + text->size, bytes, size);
    text->size += size;
    text->bytes[text->size] = '\0';
}

void hr__text_printf(struct hr_text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    hr__text_vprintf(text, format, arguments);
    va_end(arguments);
}

void hr__text_vprintf(struct hr_text *text, const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, arguments);
    if (length < 0)
        text->broken = true;
    if (length >= 0 && reserve(text, (size_t)length)) {
        vsnprintf(text->bytes + text->size, (size_t)length + 1, format, again);
        text->size += (size_t)length;
    }
    va_end(again);
}

void hr__text_append_name(struct hr_text *text, const char *name, size_t size)
{
    char nothing[1];
    size_t length = hr_escape_name(nothing, sizeof nothing, name, size);
    if (!reserve(text, length))
        return;
    hr_escape_name(text->bytes + text->size, length + 1, name, size);
    text->size += length;
}

char *hr__text_take(struct hr_text *text)
{
    char *bytes = reserve(text, 0) ? text->bytes : NULL;
    if (bytes)
        *text = (struct hr_text){.ceiling = text->ceiling};
    hr__text_finish(text);
    return bytes;
}
