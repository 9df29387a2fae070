/* SPDX-License-Identifier: ISC */
#include <headrace/name.h>

#include <stdbool.h>
#include <string.h>

#include "base/utf8.h"

/* Bytes that stand as they are at `name`: a whole character, or 0 when its first byte must be escaped. */
static size_t plain_length(const char *name, size_t size)
{
    unsigned char first = (unsigned char)name[0];
    size_t length = hr__utf8_length(name, size);
    bool is_control = first < 0x20 || first == 0x7F || (first == 0xC2 && length == 2 && (unsigned char)name[1] < 0xA0);
    return is_control || first == '%' ? 0 : length;
}

size_t hr_escape_name(char *out, size_t out_size, const char *name, size_t size)
{
    static const char digits[] = "0123456789ABCDEF";
    size_t whole = 0, written = 0;
    while (size) {
        unsigned char byte = (unsigned char)*name;
        const char escaped[] = {'%', digits[byte >> 4], digits[byte & 15]};
        size_t plain = plain_length(name, size), taken = plain ? plain : 1, piece = plain ? plain : sizeof escaped;
        /* Once a piece did not fit, no later one may follow it. */
        if (written == whole && piece < out_size - written) {
            memcpy(out + written, plain ? name : escaped, piece);
            written += piece;
        }
        whole += piece;
        name += taken;
        size -= taken;
    }
    out[written] = '\0';
    return whole;
}

static int hex_value(char digit)
{
    if (digit >= '0' && digit <= '9')
        return digit - '0';
    if (digit >= 'A' && digit <= 'F')
        return digit - 'A' + 10;
    if (digit >= 'a' && digit <= 'f')
        return digit - 'a' + 10;
    return -1;
}

enum hr_status hr_unescape_name(char *out, size_t *out_size, const char *text)
{
    size_t size = 0;
    while (*text) {
        char byte = *text++;
        if (byte == '%') {
            int high = hex_value(text[0]), low = high < 0 ? -1 : hex_value(text[1]);
            if (low < 0)
                return HR_MALFORMED;
            byte = (char)(high * 16 + low);
            text += 2;
        }
        out[size++] = byte;
    }
    *out_size = size;
    return HR_OK;
}
