/* SPDX-License-Identifier: ISC */
#include "sequence/sequence_index.h"

#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "base/array.h"
#include "base/checked.h"
#include "base/csv.h"
#include "base/fault.h"
#include "sequence/index_columns.h"

enum { TEXT_MAX = 1 << 30, FOLDERS_MAX = 1 << 16, FILES_MAX = 1 << 24, STRINGS_MAX = 1 << 27 };

/* ---- What it is made of ---- */

void hr__sequence_index_finish(struct hr_sequence_index *index)
{
    for (size_t i = 0; i < index->folder_count; i++)
        free(index->folders[i].files);
    for (size_t i = 0; i < index->string_count; i++)
        free(index->strings[i]);
    free(index->folders);
    free(index->strings);
    *index = (struct hr_sequence_index){0};
}

const char *hr__sequence_index_keep(struct hr_sequence_index *index, char *string)
{
    if (string && hr__array_reserve(&index->strings, &index->string_capacity, index->string_count + 1,
                                    sizeof *index->strings, STRINGS_MAX))
        return index->strings[index->string_count++] = string;
    free(string);
    return NULL;
}

struct hr_sequence_folder *hr__sequence_index_add(struct hr_sequence_index *index)
{
    if (!hr__array_reserve(&index->folders, &index->folder_capacity, index->folder_count + 1, sizeof *index->folders,
                           FOLDERS_MAX))
        return NULL;
    struct hr_sequence_folder *folder = &index->folders[index->folder_count++];
    *folder = (struct hr_sequence_folder){.sequence = HR_NOT_GROUPED};
    for (size_t i = 0; i < HR_INDEX_COLUMNS; i++)
        folder->columns[i] = "";
    return folder;
}

bool hr__sequence_folder_add(struct hr_sequence_folder *folder, const struct hr_sequence_file *file)
{
    if (!hr__array_reserve(&folder->files, &folder->file_capacity, folder->file_count + 1, sizeof *folder->files,
                           FILES_MAX))
        return false;
    folder->files[folder->file_count++] = *file;
    return true;
}

/* ---- Reading ---- */

/* The fields of a row, unescaped where they stand. */
static bool split(char *row, char **fields, size_t count)
{
    if (!hr__csv_split_row(row, fields, count))
        return false;
    for (size_t i = 0; i < count; i++) {
        size_t size;
        if (hr_unescape_name(fields[i], &size, fields[i]) != HR_OK || memchr(fields[i], '\0', size))
            return false;
        fields[i][size] = '\0';
    }
    return true;
}

/* Nothing that stands in a row may lead out of the folder. */
static bool is_one_component(const char *name)
{
    return *name && !strchr(name, '/') && strcmp(name, ".") != 0 && strcmp(name, "..") != 0;
}

/* Newest first: rows of one sequence stand together, unless somebody sorted them otherwise. Made where there is none;
 * NULL: no memory. */
static struct hr_sequence_folder *folder_named(struct hr_sequence_index *index, const char *name)
{
    for (size_t i = index->folder_count; i-- > 0;)
        if (!strcmp(index->folders[i].columns[HR_INDEX_NAME], name))
            return &index->folders[i];
    struct hr_sequence_folder *folder = hr__sequence_index_add(index);
    if (folder)
        folder->columns[HR_INDEX_NAME] = name;
    return folder;
}

static bool take_sequence(struct hr_sequence_index *index, char **fields, struct hr_fault *fault)
{
    struct hr_sequence_folder *folder = folder_named(index, fields[HR_INDEX_NAME]);
    if (!folder) {
        hr__fault_nomem(fault, "the index of sequences");
        return false;
    }
    for (size_t i = 0; i < HR_INDEX_COLUMNS; i++)
        folder->columns[i] = fields[i];
    return is_one_component(fields[HR_INDEX_NAME]);
}

static bool take_file(struct hr_sequence_index *index, char **fields, struct hr_fault *fault)
{
    uint64_t number;
    if (!is_one_component(fields[HR_FILE_SEQUENCE]) || !is_one_component(fields[HR_FILE_NAME]) ||
        !hr__parse_u64(&number, fields[HR_FILE_NUMBER], UINT32_MAX))
        return false;
    const struct hr_sequence_file file = {.name = fields[HR_FILE_NAME],
                                          .path = fields[HR_FILE_PATH],
                                          .time = fields[HR_FILE_TIME],
                                          .filled = fields[HR_FILE_FILLED],
                                          .number = (uint32_t)number,
                                          .sequence = HR_NOT_GROUPED};
    struct hr_sequence_folder *folder = folder_named(index, fields[HR_FILE_SEQUENCE]);
    if (folder && hr__sequence_folder_add(folder, &file))
        return true;
    hr__fault_nomem(fault, "the index of sequences");
    return false;
}

struct table {
    const char *name, *header;
    size_t columns;
    bool (*take)(struct hr_sequence_index *index, char **fields, struct hr_fault *fault);
};

static enum hr_status malformed(const struct hr_folder *folder, const struct table *table, struct hr_fault *fault)
{
    char shown[HR_FAULT_TEXT_SIZE / 2];
    hr_escape_name(shown, sizeof shown, folder->path, strlen(folder->path));
    return hr__fault_set(fault, HR_MALFORMED, 0,
                         "%s in %s is not as it is written here: put it elsewhere, and a new one is made", table->name,
                         shown);
}

/* A spreadsheet that saved it may have ended its lines otherwise, and sorted them. */
static enum hr_status take_rows(struct hr_sequence_index *index, char *text, const struct table *table,
                                const struct hr_folder *folder, struct hr_fault *fault)
{
    char *fields[HR_INDEX_COLUMNS];
    bool is_first = true;
    for (char *line = text, *next; *line; line = next, is_first = false) {
        size_t length = strcspn(line, "\n");
        next = line + length + (line[length] == '\n');
        length -= length > 0 && line[length - 1] == '\r';
        line[length] = '\0';
        bool is_right = is_first ? !strcmp(line, table->header)
                                 : split(line, fields, table->columns) && table->take(index, fields, fault);
        if (!is_right)
            return fault->status == HR_NOMEM ? HR_NOMEM : malformed(folder, table, fault);
    }
    return is_first ? malformed(folder, table, fault) : HR_OK;
}

static enum hr_status load_table(struct hr_sequence_index *index, const struct hr_folder *folder,
                                 const struct table *table, struct hr_fault *fault)
{
    char *text = NULL;
    size_t size = 0;
    struct hr_fault cause = {0};
    enum hr_status status = hr__file_load(&text, &size, folder, table->name, TEXT_MAX, table->name, &cause);
    if (status == HR_NOT_FOUND)
        return HR_OK;
    if (!status && !hr__sequence_index_keep(index, text))
        status = hr__fault_nomem(&cause, "the index of sequences");
    if (!status)
        status =
            strlen(text) == size ? take_rows(index, text, table, folder, &cause) : malformed(folder, table, &cause);
    return status ? hr__fault_set(fault, status, 0, "%s", cause.text) : HR_OK;
}

enum hr_status hr__sequence_index_load(struct hr_sequence_index *index, const struct hr_folder *folder,
                                       struct hr_fault *fault)
{
    static const struct table files = {HR_INDEX_FILES, HR_FILES_HEADER, HR_FILE_COLUMNS, take_file};
    static const struct table sequences = {HR_INDEX_SEQUENCES, HR_SEQUENCES_HEADER, HR_INDEX_COLUMNS, take_sequence};
    enum hr_status status = load_table(index, folder, &files, fault);
    return status ? status : load_table(index, folder, &sequences, fault);
}
