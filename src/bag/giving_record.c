/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "bag/bag_names.h"
#include "bag/giving.h"
#include "base/array.h"
#include "base/csv.h"
#include "base/fault.h"
#include "base/path.h"

static const char header[] = "path,to\n";

enum { FIELD_COUNT = 2 };

static int by_path(const void *a, const void *b)
{
    return strcmp(((const struct hr_given *)a)->path, ((const struct hr_given *)b)->path);
}

bool hr__giving_add(struct hr_giving *giving, const char *path, const char *to)
{
    if (!hr__array_reserve(&giving->rows, &giving->capacity, giving->count + 1, sizeof *giving->rows, HR_BAG_FILES_MAX))
        return false;
    giving->rows[giving->count++] = (struct hr_given){.path = path, .to = to};
    return true;
}

void hr__giving_sort(struct hr_giving *giving)
{
    size_t kept = 0;
    if (giving->count)
        qsort(giving->rows, giving->count, sizeof *giving->rows, by_path);
    for (size_t i = 0; i < giving->count; i++)
        if (kept == 0 || strcmp(giving->rows[kept - 1].path, giving->rows[i].path) != 0)
            giving->rows[kept++] = giving->rows[i];
    giving->count = kept;
}

struct hr_given *hr__giving_find(const struct hr_giving *giving, const char *path)
{
    const struct hr_given wanted = {.path = path};
    return giving->count ? bsearch(&wanted, giving->rows, giving->count, sizeof wanted, by_path) : NULL;
}

const struct hr_digest *hr__giving_digest(const struct hr_bag_file *file, enum hr_digest_kind kind)
{
    return kind == HR_DIGEST_SHA256 ? &file->sha256 : &file->xxh128;
}

/* ---- The file ---- */

static void append_row(struct hr_text *out, const struct hr_given *row)
{
    struct hr_text path, to;
    hr__text_init(&path, HR_BAG_TAG_FILE_MAX);
    hr__text_init(&to, HR_BAG_TAG_FILE_MAX);
    hr__text_append_name(&path, row->path, strlen(row->path));
    hr__text_append_name(&to, row->to, strlen(row->to));
    const char *const fields[FIELD_COUNT] = {path.bytes, to.bytes};
    hr__csv_append_row(out, fields, FIELD_COUNT);
    out->broken |= path.broken || to.broken;
    hr__text_finish(&path);
    hr__text_finish(&to);
}

enum hr_status hr__giving_save(const struct hr_giving *giving, struct hr_fault *fault)
{
    struct hr_text text;
    hr__text_init(&text, HR_BAG_TAG_FILE_MAX);
    hr__text_append(&text, header);
    for (size_t i = 0; i < giving->count; i++)
        append_row(&text, &giving->rows[i]);
    enum hr_status status = text.broken
                                ? hr__fault_nomem(fault, "the record of what leaves a bag")
                                : hr__folder_put(&giving->folder, HR_BAG_GIVING_UP, text.bytes, text.size, fault);
    hr__text_finish(&text);
    return status;
}

static bool unescape(char *field)
{
    size_t size;
    if (hr_unescape_name(field, &size, field) != HR_OK || memchr(field, '\0', size))
        return false;
    field[size] = '\0';
    return hr__path_is_inside(field);
}

/* Each row has its end: what was cut off is not followed. */
static enum hr_status take_rows(struct hr_giving *giving, size_t size, struct hr_fault *fault)
{
    char *line = giving->text, *text_end = line + size;
    bool is_right = !strncmp(line, header, sizeof header - 1);
    line += is_right ? sizeof header - 1 : 0;
    while (is_right && line < text_end) {
        char *fields[FIELD_COUNT], *row = line, *end = row + strcspn(row, "\n");
        is_right = *end == '\n';
        *end = '\0';
        line = end + 1;
        is_right =
            is_right && hr__csv_split_row(row, fields, FIELD_COUNT) && unescape(fields[0]) && unescape(fields[1]);
        if (is_right && !hr__giving_add(giving, fields[0], fields[1]))
            return hr__fault_nomem(fault, "the record of what leaves a bag");
    }
    hr__giving_sort(giving);
    return is_right ? HR_OK
                    : hr__fault_path(fault, HR_MALFORMED, 0, "cannot make out what was leaving the bag",
                                     giving->folder.path);
}

enum hr_status hr__giving_load(struct hr_giving *giving, struct hr_fault *fault)
{
    size_t size;
    enum hr_status status = hr__file_load(&giving->text, &size, &giving->folder, HR_BAG_GIVING_UP, HR_BAG_TAG_FILE_MAX,
                                          HR_BAG_GIVING_UP, fault);
    return status ? status : take_rows(giving, size, fault);
}
