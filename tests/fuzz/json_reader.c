/* SPDX-License-Identifier: ISC */
#include "json_reader.h"

#include <stdlib.h>
#include <string.h>

#include <utf8proc.h>

enum { DEPTH_MAX = 64 };

struct reader {
    const char *at, *end;
    void (*see)(void *context, const char *text, size_t size, bool is_key);
    void *context;
    int depth;
};

static bool read_value(struct reader *reader);

static void skip_blanks(struct reader *reader)
{
    while (reader->at < reader->end && memchr(" \t\r\n", *reader->at, 4))
        reader->at++;
}

static bool take(struct reader *reader, const char *word)
{
    size_t size = strlen(word);
    bool is_there = (size_t)(reader->end - reader->at) >= size && !memcmp(reader->at, word, size);
    reader->at += is_there ? size : 0;
    return is_there;
}

static size_t take_digits(struct reader *reader)
{
    size_t count = 0;
    while (reader->at < reader->end && *reader->at >= '0' && *reader->at <= '9')
        reader->at++, count++;
    return count;
}

static bool read_number(struct reader *reader)
{
    take(reader, "-");
    if (!take(reader, "0") && !take_digits(reader))
        return false;
    if (take(reader, ".") && !take_digits(reader))
        return false;
    if (!take(reader, "e") && !take(reader, "E"))
        return true;
    if (!take(reader, "+"))
        take(reader, "-");
    return take_digits(reader) > 0;
}

static bool read_unit(utf8proc_int32_t *point, struct reader *reader)
{
    char digits[5] = "", *end;
    if (reader->end - reader->at < 4)
        return false;
    memcpy(digits, reader->at, 4);
    reader->at += 4;
    *point = (utf8proc_int32_t)strtol(digits, &end, 16);
    return end == digits + 4 && strspn(digits, "0123456789abcdefABCDEF") == 4;
}

/* Half a pair of units is no character. */
static bool read_escape(utf8proc_int32_t *point, struct reader *reader)
{
    static const char letters[] = "\"\\/bfnrt", meanings[] = "\"\\/\b\f\n\r\t";
    if (reader->at == reader->end)
        return false;
    char letter = *reader->at++;
    const char *found = letter ? strchr(letters, letter) : NULL;
    if (found)
        *point = meanings[found - letters];
    else if (letter != 'u' || !read_unit(point, reader) || (*point >= 0xd800 && *point < 0xe000))
        return false;
    return true;
}

static bool read_character(utf8proc_int32_t *point, struct reader *reader)
{
    if (take(reader, "\\"))
        return read_escape(point, reader);
    utf8proc_ssize_t length = utf8proc_iterate((const utf8proc_uint8_t *)reader->at, reader->end - reader->at, point);
    reader->at += length > 0 ? length : 0;
    return length > 0 && *point >= 0x20;
}

static bool read_string(struct reader *reader, bool is_key)
{
    if (!take(reader, "\""))
        return false;
    char *text = malloc((size_t)(reader->end - reader->at) + 4);
    size_t size = 0;
    bool is_right = text != NULL;
    while (is_right && !take(reader, "\"")) {
        utf8proc_int32_t point = 0;
        is_right = read_character(&point, reader);
        if (is_right)
            size += (size_t)utf8proc_encode_char(point, (utf8proc_uint8_t *)text + size);
    }
    if (is_right && reader->see)
        reader->see(reader->context, text, size, is_key);
    free(text);
    return is_right;
}

static bool read_members(struct reader *reader, bool is_object)
{
    const char *closer = is_object ? "}" : "]";
    bool is_right = ++reader->depth <= DEPTH_MAX;
    skip_blanks(reader);
    bool more = !take(reader, closer);
    while (is_right && more) {
        skip_blanks(reader);
        if (is_object) {
            is_right = read_string(reader, true);
            skip_blanks(reader);
            is_right = is_right && take(reader, ":");
        }
        is_right = is_right && read_value(reader);
        skip_blanks(reader);
        more = is_right && take(reader, ",");
        is_right = is_right && (more || take(reader, closer));
    }
    reader->depth--;
    return is_right;
}

static bool read_value(struct reader *reader)
{
    skip_blanks(reader);
    if (take(reader, "{"))
        return read_members(reader, true);
    if (take(reader, "["))
        return read_members(reader, false);
    if (reader->at < reader->end && *reader->at == '"')
        return read_string(reader, false);
    return take(reader, "true") || take(reader, "false") || take(reader, "null") || read_number(reader);
}

bool json_read(const char *bytes, size_t size, void (*see)(void *context, const char *text, size_t size, bool is_key),
               void *context)
{
    struct reader reader = {.at = bytes, .end = bytes + size, .see = see, .context = context};
    return read_value(&reader) && take(&reader, "\n") && reader.at == reader.end;
}
