/* SPDX-License-Identifier: ISC */
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "bag/tag_file.h"
#include "base/checked.h"

#define VERSION_LABEL "BagIt-Version"
#define ENCODING_LABEL "Tag-File-Character-Encoding"

const char hr__declaration_text[] = VERSION_LABEL ": 1.0\n" ENCODING_LABEL ": UTF-8\n";

static bool parse_version(struct hr_declaration *out, const char *text)
{
    char major[8], minor[8];
    const char *dot = strchr(text, '.');
    uint64_t numbers[2];
    if (!dot || (size_t)(dot - text) >= sizeof major || strlen(dot + 1) >= sizeof minor)
        return false;
    snprintf(major, sizeof major, "%.*s", (int)(dot - text), text);
    snprintf(minor, sizeof minor, "%s", dot + 1);
    if (!hr__parse_u64(&numbers[0], major, 1000) || !hr__parse_u64(&numbers[1], minor, 1000))
        return false;
    out->major = (unsigned)numbers[0];
    out->minor = (unsigned)numbers[1];
    return true;
}

/* 1.0 asks for exactly these two lines, with no space before the colon. */
static bool has_v1_form(const char *text, size_t size, const struct hr_tags *tags)
{
    static const char begin[] = VERSION_LABEL ": ", second[] = ENCODING_LABEL ": ";
    const char *line = memchr(text, '\n', size);
    if (!line)
        line = memchr(text, '\r', size);
    return tags->count == 2 && tags->malformed_lines == 0 && size >= sizeof begin &&
           !memcmp(text, begin, sizeof begin - 1) && line && (size_t)(text + size - line) > sizeof second - 1 &&
           !memcmp(line + 1, second, sizeof second - 1);
}

static const char *find_complaint(struct hr_declaration *out, const char *text, size_t size, const struct hr_tags *tags)
{
    const char *version = hr__tags_find(tags, VERSION_LABEL, NULL);
    const char *encoding = hr__tags_find(tags, ENCODING_LABEL, NULL);
    if (size >= 3 && !memcmp(text, "\xEF\xBB\xBF", 3))
        return "begins with a byte-order mark";
    if (!version || !parse_version(out, version))
        return "does not say which version of BagIt (BagIt-Version: M.N)";
    if (!encoding || !*encoding)
        return "does not say how tag files are encoded (Tag-File-Character-Encoding: NAME)";
    if (out->major > 1)
        return "is of a version of BagIt that is not known here";
    if (hr__declaration_is_v1(out) && !has_v1_form(text, size, tags))
        return "is not the two lines that version 1.0 asks for";
    snprintf(out->encoding, sizeof out->encoding, "%s", encoding);
    return NULL;
}

enum hr_status hr__declaration_parse(struct hr_declaration *out, const char *text, size_t size)
{
    struct hr_tags tags = {0};
    *out = (struct hr_declaration){0};
    enum hr_status status = hr__tags_parse(&tags, text, size);
    if (!status)
        out->complaint = find_complaint(out, text, size, &tags);
    hr__tags_finish(&tags);
    return status;
}

bool hr__declaration_is_v1(const struct hr_declaration *declaration)
{
    return declaration->major >= 1;
}

bool hr__declaration_is_known(const struct hr_declaration *declaration)
{
    return (declaration->major == 1 && declaration->minor == 0) ||
           (declaration->major == 0 && declaration->minor >= 93 && declaration->minor <= 97);
}
