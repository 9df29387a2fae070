/* SPDX-License-Identifier: ISC */
#include "bag/manifest.h"

#include <string.h>

void hr__manifest_append_path(struct hr_text *out, const char *path)
{
    for (size_t plain; *path; path += plain) {
        plain = strcspn(path, "\n\r%");
        hr__text_append_bytes(out, path, plain);
        if (path[plain])
            hr__text_printf(out, "%%%02X", (unsigned)path[plain++]);
    }
}

void hr__manifest_append_line(struct hr_text *out, const struct hr_digest *digest, const char *path)
{
    char hex[HR_DIGEST_HEX_SIZE];
    hr__text_append(out, hr_digest_to_hex(hex, digest));
    hr__text_append(out, "  ");
    hr__manifest_append_path(out, path);
    hr__text_append(out, "\n");
}

/* The byte a %XX at `at` stands for, 0 when the standard makes no such. */
static char encoded_byte(const char *at, bool is_v1)
{
    if (at[1] == '0' && (at[2] | 0x20) == 'a')
        return '\n';
    if (at[1] == '0' && (at[2] | 0x20) == 'd')
        return '\r';
    return is_v1 && at[1] == '2' && at[2] == '5' ? '%' : '\0';
}

bool hr__manifest_decode_path(char *path, bool is_v1)
{
    bool is_proper = true;
    char *to = path;
    for (const char *from = path; *from;) {
        char byte = *from == '%' ? encoded_byte(from, is_v1) : '\0';
        is_proper &= byte || *from != '%' || !is_v1;
        *to++ = byte ? byte : *from;
        from += byte ? 3 : 1;
    }
    *to = '\0';
    return is_proper;
}

static bool is_hex(const char *text, size_t length)
{
    return length > 0 && length % 2 == 0 && strspn(text, "0123456789abcdefABCDEF") >= length;
}

static bool split_line(struct hr_manifest_line *line, char *text, enum hr_digest_kind kind, bool is_v1)
{
    *line = (struct hr_manifest_line){.hex = text + strspn(text, " \t")};
    size_t length = strcspn(line->hex, " \t");
    char *path = line->hex + length;
    if (!is_hex(line->hex, length) || (kind != HR_DIGEST_NONE && length != 2 * hr_digest_kind_size(kind)) || !*path)
        return false;
    *path++ = '\0';
    path += strspn(path, " \t");
    line->has_asterisk = *path == '*';
    path += line->has_asterisk;
    line->has_dot = !strncmp(path, "./", 2);
    line->path = path + 2 * line->has_dot;
    line->has_stray_percent = !hr__manifest_decode_path(line->path, is_v1);
    return *line->path;
}

enum hr_manifest_step hr__manifest_next(struct hr_manifest_line *line, char **at, enum hr_digest_kind kind, bool is_v1)
{
    char *text = *at + strspn(*at, "\r\n");
    size_t length = strcspn(text, "\r\n");
    *at = text + length + (text[length] != '\0');
    if (length == 0)
        return HR_MANIFEST_END;
    text[length] = '\0';
    return split_line(line, text, kind, is_v1) ? HR_MANIFEST_LINE : HR_MANIFEST_MALFORMED;
}
