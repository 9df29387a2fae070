/* SPDX-License-Identifier: ISC */
#include "bag/journal.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "bag/bag_names.h"
#include "base/array.h"
#include "base/checked.h"
#include "base/csv.h"
#include "base/fault.h"
#include "base/path.h"

const char hr__journal_header[] = "path,size_bytes,modified_ns,xxh128,sha256,read_at_ns,proven_at_ns,proof\n";

enum { FIELD_COUNT = 8, NUMBER_SIZE = 24 };

/* ---- Writing ---- */

bool hr__journal_row_is_fit(const struct hr_bag_file *row)
{
    return row->xxh128.kind == HR_DIGEST_XXH128 &&
           (row->sha256.kind == HR_DIGEST_SHA256 || row->sha256.kind == HR_DIGEST_NONE) &&
           row->proof != HR_PROOF_NONE && hr__path_is_inside(row->path);
}

static const char *number(char out[NUMBER_SIZE], int64_t value)
{
    snprintf(out, NUMBER_SIZE, "%" PRId64, value);
    return out;
}

void hr__journal_append_row(struct hr_text *out, const struct hr_bag_file *row)
{
    char size[NUMBER_SIZE], modified[NUMBER_SIZE], read_at[NUMBER_SIZE], proven_at[NUMBER_SIZE];
    char xxh128[HR_DIGEST_HEX_SIZE], sha256[HR_DIGEST_HEX_SIZE];
    struct hr_text path;
    hr__text_init(&path, HR_BAG_TAG_FILE_MAX);
    hr__text_append_name(&path, row->path, strlen(row->path));
    snprintf(size, sizeof size, "%" PRIu64, row->size_bytes);
    const char *const fields[FIELD_COUNT] = {path.bytes,
                                             size,
                                             number(modified, row->modified_ns),
                                             hr_digest_to_hex(xxh128, &row->xxh128),
                                             hr_digest_to_hex(sha256, &row->sha256),
                                             number(read_at, row->read_at_ns),
                                             number(proven_at, row->proven_at_ns),
                                             hr_proof_name(row->proof)};
    out->broken |= path.broken;
    hr__csv_append_row(out, fields, FIELD_COUNT);
    hr__text_finish(&path);
}

/* ---- Reading ---- */

static bool parse_path(struct hr_bag_file *row, char *field)
{
    size_t size = 0;
    if (hr_unescape_name(field, &size, field) != HR_OK || memchr(field, '\0', size))
        return false;
    field[size] = '\0';
    row->path = field;
    return hr__path_is_inside(field);
}

static bool parse_row(struct hr_bag_file *row, char *line)
{
    char *field[FIELD_COUNT];
    *row = (struct hr_bag_file){0};
    if (!hr__csv_split_row(line, field, FIELD_COUNT))
        return false;
    row->proof = hr_proof_of_name(field[7]);
    return row->proof != HR_PROOF_NONE && hr__parse_u64(&row->size_bytes, field[1], UINT64_MAX) &&
           hr__parse_i64(&row->modified_ns, field[2], INT64_MAX) &&
           hr_digest_from_hex(&row->xxh128, HR_DIGEST_XXH128, field[3], strlen(field[3])) &&
           (!*field[4] || hr_digest_from_hex(&row->sha256, HR_DIGEST_SHA256, field[4], strlen(field[4]))) &&
           hr__parse_i64(&row->read_at_ns, field[5], INT64_MAX) &&
           hr__parse_i64(&row->proven_at_ns, field[6], INT64_MAX) && parse_path(row, field[0]);
}

/* The path moves to *end, the end of those before it: all of them together are a fraction of the text. */
static bool take_line(struct hr_journal *journal, char *line, char **end)
{
    struct hr_bag_file row;
    if (!parse_row(&row, line)) {
        journal->is_damaged = true;
        return true;
    }
    if (!hr__array_reserve(&journal->rows, &journal->capacity, journal->count + 1, sizeof row, HR_BAG_FILES_MAX))
        return false;
    size_t size = strlen(row.path) + 1;
    row.path = memmove(*end, row.path, size);
    *end += size;
    journal->rows[journal->count++] = row;
    return true;
}

/* Of one path the row that stands last comes first: rows are only appended, and a clock may be set back. Their paths
 * lie in the text in the order of the rows. */
static int compare_rows(const void *a, const void *b)
{
    const struct hr_bag_file *one = a, *other = b;
    int order = strcmp(one->path, other->path);
    if (order != 0)
        return order;
    return one->path < other->path ? 1 : one->path > other->path ? -1 : 0;
}

static void sort_rows(struct hr_journal *journal)
{
    size_t kept = 0;
    if (journal->count > 0)
        qsort(journal->rows, journal->count, sizeof *journal->rows, compare_rows);
    for (size_t i = 0; i < journal->count; i++)
        if (kept == 0 || strcmp(journal->rows[kept - 1].path, journal->rows[i].path) != 0)
            journal->rows[kept++] = journal->rows[i];
    journal->is_damaged |= kept != journal->count;
    journal->count = kept;
}

/* Gives back what the text and the array have too much. Where that fails they stay as they are. */
static void shrink(struct hr_journal *journal, size_t text_size)
{
    uintptr_t before = (uintptr_t)journal->text;
    char *text = realloc(journal->text, text_size + 1);
    struct hr_bag_file *rows = journal->count ? realloc(journal->rows, journal->count * sizeof *journal->rows) : NULL;
    if (rows) {
        journal->rows = rows;
        journal->capacity = journal->count;
    }
    if (!text)
        return;
    journal->text = text;
    for (size_t i = 0; i < journal->count; i++)
        journal->rows[i].path = text + ((uintptr_t)journal->rows[i].path - before);
}

enum hr_status hr__journal_parse(struct hr_journal *out, char *text, size_t size)
{
    struct hr_journal journal = {.text = text};
    size_t header_size = strlen(hr__journal_header);
    bool has_room = true, has_header = size >= header_size && !memcmp(text, hr__journal_header, header_size);
    journal.is_damaged = !has_header;
    char *line = text + (has_header ? header_size : 0), *end = text + size, *paths_end = text;
    for (char *stop; has_room && line < end; line = stop + 1) {
        stop = memchr(line, '\n', (size_t)(end - line));
        if (!stop) {
            journal.is_damaged = true;
            break;
        }
        *stop = '\0';
        if (strlen(line) == (size_t)(stop - line))
            has_room = take_line(&journal, line, &paths_end);
        else
            journal.is_damaged = true;
    }
    if (!has_room) {
        hr__journal_finish(&journal);
        return HR_NOMEM;
    }
    sort_rows(&journal);
    shrink(&journal, (size_t)(paths_end - text));
    *out = journal;
    return HR_OK;
}

enum hr_status hr__journal_load(struct hr_journal *out, const struct hr_folder *folder, const char *name,
                                struct hr_fault *fault)
{
    char *text = NULL;
    size_t size = 0;
    enum hr_status status = hr__file_load(&text, &size, folder, name, HR_BAG_TAG_FILE_MAX, name, fault);
    if (status)
        return status;
    status = hr__journal_parse(out, text, size);
    return status ? hr__fault_nomem(fault, "the rows of a bag") : HR_OK;
}

void hr__journal_finish(struct hr_journal *journal)
{
    free(journal->text);
    free(journal->rows);
    *journal = (struct hr_journal){0};
}

static int compare_path(const void *path, const void *row)
{
    return strcmp(path, ((const struct hr_bag_file *)row)->path);
}

const struct hr_bag_file *hr__journal_find(const struct hr_journal *journal, const char *path)
{
    return journal->count ? bsearch(path, journal->rows, journal->count, sizeof *journal->rows, compare_path) : NULL;
}

enum hr_status hr__journal_rewrite(const struct hr_journal *journal, const struct hr_file *file, struct hr_fault *fault)
{
    struct hr_text text;
    hr__text_init(&text, HR_BAG_TAG_FILE_MAX);
    hr__text_append(&text, hr__journal_header);
    for (size_t i = 0; i < journal->count; i++)
        hr__journal_append_row(&text, &journal->rows[i]);
    enum hr_status status =
        text.broken ? hr__fault_nomem(fault, "the rows of a bag") : hr__file_truncate(file, 0, fault);
    if (!status)
        status = hr__file_append(file, text.bytes, text.size, fault);
    if (!status)
        status = hr__file_sync(file, fault);
    hr__text_finish(&text);
    return status;
}
