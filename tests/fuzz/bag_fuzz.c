/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any bytes as the text files of a bag, and a row of its frames.csv. The first byte chooses which;
 * what was read is written again and must read the same. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/journal.h"
#include "bag/manifest.h"
#include "bag/tag_encoding.h"
#include "bag/tag_file.h"
#include "card/frame_row.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool holds)
{
    if (!holds)
        abort();
}

/* NUL-terminated, and of exactly that size, so that the sanitizer sees a read past its end. */
static char *copy_of(const void *bytes, size_t size)
{
    char *copy = malloc(size + 1);
    must(copy != NULL);
    memcpy(copy, bytes, size);
    copy[size] = '\0';
    return copy;
}

static void write_again(const struct hr_manifest_line *line)
{
    struct hr_digest digest;
    struct hr_manifest_line again;
    struct hr_text text;
    must(hr_digest_from_hex(&digest, HR_DIGEST_MD5, line->hex, strlen(line->hex)));
    hr__text_init(&text, 1 << 20);
    hr__manifest_append_line(&text, &digest, line->path);
    char *at = text.bytes;
    /* A tag file's name may begin with what a manifest puts before one; a payload path may not. */
    if (hr__bag_path_is_payload(line->path)) {
        must(hr__manifest_next(&again, &at, HR_DIGEST_MD5, true) == HR_MANIFEST_LINE);
        must(!strcmp(again.path, line->path) && !again.has_stray_percent);
        must(hr__manifest_next(&again, &at, HR_DIGEST_MD5, true) == HR_MANIFEST_END);
    }
    hr__text_finish(&text);
}

static void as_manifest(const uint8_t *data, size_t size, bool is_v1)
{
    char *text = copy_of(data, size), *at = text;
    struct hr_manifest_line line;
    enum hr_manifest_step step;
    while ((step = hr__manifest_next(&line, &at, HR_DIGEST_MD5, is_v1)) != HR_MANIFEST_END)
        if (step == HR_MANIFEST_LINE) {
            write_again(&line);
            (void)hr__bag_path_is_safe(line.path);
        }
    free(text);
}

static void as_tags(const uint8_t *data, size_t size)
{
    struct hr_tags tags;
    struct hr_declaration declaration;
    must(hr__tags_parse(&tags, (const char *)data, size) == HR_OK);
    for (size_t i = 0; i < tags.count; i++)
        must(hr__tags_find(&tags, tags.tags[i].label, NULL) != NULL && strlen(tags.tags[i].value) <= size);
    hr__tags_finish(&tags);
    must(hr__declaration_parse(&declaration, (const char *)data, size) == HR_OK);
    must(declaration.complaint || declaration.major <= 1);
}

static void as_encoded(const uint8_t *data, size_t size, const char *encoding)
{
    char *text = copy_of(data, size);
    size_t text_size = size;
    enum hr_status status = hr__tag_text_to_utf8(&text, &text_size, encoding);
    must(status == HR_OK || status == HR_MALFORMED);
    must(text[text_size] == '\0' && text_size <= 2 * size);
    free(text);
}

static void as_journal(const uint8_t *data, size_t size)
{
    struct hr_journal journal, again;
    struct hr_text text;
    must(hr__journal_parse(&journal, copy_of(data, size), size) == HR_OK);
    hr__text_init(&text, 1 << 26);
    hr__text_append(&text, hr__journal_header);
    for (size_t i = 0; i < journal.count; i++) {
        must(hr__journal_row_is_fit(&journal.rows[i]));
        must(hr__journal_find(&journal, journal.rows[i].path) == &journal.rows[i]);
        hr__journal_append_row(&text, &journal.rows[i]);
    }
    must(!text.broken);
    must(hr__journal_parse(&again, copy_of(text.bytes, text.size), text.size) == HR_OK);
    must(again.count == journal.count && !again.is_damaged);
    for (size_t i = 0; i < again.count; i++)
        must(!strcmp(again.rows[i].path, journal.rows[i].path) &&
             again.rows[i].size_bytes == journal.rows[i].size_bytes &&
             again.rows[i].modified_ns == journal.rows[i].modified_ns &&
             hr_digest_equal(&again.rows[i].xxh128, &journal.rows[i].xxh128));
    hr__journal_finish(&again);
    hr__journal_finish(&journal);
    hr__text_finish(&text);
}

static void as_frame_row(const uint8_t *data, size_t size)
{
    char *line = copy_of(data, size);
    struct hr_frame_row row, again;
    struct hr_text text, twice;
    hr__text_init(&text, 1 << 20);
    hr__text_init(&twice, 1 << 20);
    if (hr__frame_row_parse(&row, line)) {
        must(row.facts.preview_count <= HR_PREVIEWS_MAX && row.facts.fraction_ns < 1000000000);
        hr__frame_row_append(&text, &row);
        must(!text.broken);
        char *rewritten = copy_of(text.bytes, text.size);
        must(hr__frame_row_parse(&again, rewritten));
        must(!strcmp(row.path, again.path) && row.facts.local_time_s == again.facts.local_time_s);
        hr__frame_row_append(&twice, &again);
        must(!strcmp(text.bytes, twice.bytes));
        free(rewritten);
    }
    hr__text_finish(&twice);
    hr__text_finish(&text);
    free(line);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const encodings[] = {"UTF-8", "ISO-8859-1", "UTF-16", "UTF-16LE"};
    if (size == 0)
        return 0;
    unsigned which = data[0] % 9;
    data++;
    size--;
    if (which < 2)
        as_manifest(data, size, which);
    else if (which == 2)
        as_tags(data, size);
    else if (which == 3)
        as_journal(data, size);
    else if (which == 8)
        as_frame_row(data, size);
    else
        as_encoded(data, size, encodings[which - 4]);
    return 0;
}
