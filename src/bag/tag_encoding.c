/* SPDX-License-Identifier: ISC */
#include "bag/tag_encoding.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* Four bytes of UTF-8 at most for two bytes of UTF-16, two for one of ISO-8859-1. */
enum { GROWTH_MAX = 2 };

enum form { FORM_UTF8, FORM_LATIN1, FORM_UTF16, FORM_UTF16LE, FORM_UTF16BE };

static const struct {
    const char *name;
    enum form form;
} encodings[] = {{"UTF-8", FORM_UTF8},       {"UTF8", FORM_UTF8},         {"US-ASCII", FORM_UTF8},
                 {"ASCII", FORM_UTF8},       {"ISO-8859-1", FORM_LATIN1}, {"UTF-16", FORM_UTF16},
                 {"UTF-16LE", FORM_UTF16LE}, {"UTF-16BE", FORM_UTF16BE}};

static char *put_utf8(char *to, uint32_t character)
{
    if (character < 0x80) {
        *to++ = (char)character;
    } else if (character < 0x800) {
        *to++ = (char)(0xC0 | character >> 6);
        *to++ = (char)(0x80 | (character & 63));
    } else if (character < 0x10000) {
        *to++ = (char)(0xE0 | character >> 12);
        *to++ = (char)(0x80 | (character >> 6 & 63));
        *to++ = (char)(0x80 | (character & 63));
    } else {
        *to++ = (char)(0xF0 | character >> 18);
        *to++ = (char)(0x80 | (character >> 12 & 63));
        *to++ = (char)(0x80 | (character >> 6 & 63));
        *to++ = (char)(0x80 | (character & 63));
    }
    return to;
}

static uint32_t unit_at(const unsigned char *from, bool is_big)
{
    return (uint32_t)(is_big ? from[0] << 8 | from[1] : from[1] << 8 | from[0]);
}

/* NULL for half a character. */
static char *from_utf16(char *to, const unsigned char *from, size_t size, bool is_big)
{
    if (size % 2 != 0)
        return NULL;
    for (size_t at = 0; at < size; at += 2) {
        uint32_t unit = unit_at(from + at, is_big);
        if (unit >= 0xD800 && unit < 0xE000) {
            uint32_t low = at + 2 < size ? unit_at(from + at + 2, is_big) : 0;
            if (unit >= 0xDC00 || low < 0xDC00 || low >= 0xE000)
                return NULL;
            unit = 0x10000 + ((unit - 0xD800) << 10) + (low - 0xDC00);
            at += 2;
        }
        to = put_utf8(to, unit);
    }
    return to;
}

static char *from_latin1(char *to, const unsigned char *from, size_t size)
{
    for (size_t i = 0; i < size; i++)
        to = put_utf8(to, from[i]);
    return to;
}

/* Without a mark UTF-16 is big-endian (RFC 2781 section 4.3). */
static char *convert(char *to, const unsigned char *from, size_t size, enum form form)
{
    bool is_big = form != FORM_UTF16LE;
    if (form == FORM_LATIN1)
        return from_latin1(to, from, size);
    if (size >= 2 && unit_at(from, true) == 0xFFFE)
        is_big = false;
    bool has_mark = size >= 2 && unit_at(from, is_big) == 0xFEFF;
    return from_utf16(to, from + 2 * has_mark, size - 2 * has_mark, is_big);
}

static enum hr_status replace(char **text, size_t *size, enum form form)
{
    char *utf8 = *size < SIZE_MAX / GROWTH_MAX ? malloc(*size * GROWTH_MAX + 1) : NULL;
    if (!utf8)
        return HR_NOMEM;
    char *end = convert(utf8, (const unsigned char *)*text, *size, form);
    if (!end) {
        free(utf8);
        return HR_MALFORMED;
    }
    *end = '\0';
    free(*text);
    *text = utf8;
    *size = (size_t)(end - utf8);
    return HR_OK;
}

enum hr_status hr__tag_text_to_utf8(char **text, size_t *size, const char *encoding)
{
    size_t i = 0, count = sizeof encodings / sizeof *encodings;
    while (i < count && strcasecmp(encodings[i].name, encoding) != 0)
        i++;
    if (i == count)
        return HR_UNSUPPORTED;
    if (encodings[i].form != FORM_UTF8)
        return replace(text, size, encodings[i].form);
    if (*size >= 3 && !memcmp(*text, "\xEF\xBB\xBF", 3)) {
        *size -= 3;
        memmove(*text, *text + 3, *size + 1);
    }
    return HR_OK;
}
