/* SPDX-License-Identifier: ISC */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/fault.h"
#include "sequence/index_columns.h"
#include "sequence/sequence_index.h"

enum { TEXT_MAX = 1 << 30, NUMBER_SIZE = 16 };

static int by_number(const void *a, const void *b)
{
    const struct hr_sequence_file *first = a, *second = b;
    if (first->number != second->number)
        return first->number < second->number ? -1 : 1;
    return strcmp(first->name, second->name);
}

static int by_start(const void *a, const void *b)
{
    const struct hr_sequence_folder *first = a, *second = b;
    int order = strcmp(first->columns[HR_INDEX_START], second->columns[HR_INDEX_START]);
    return order ? order : strcmp(first->columns[HR_INDEX_NAME], second->columns[HR_INDEX_NAME]);
}

void hr__sequence_folder_sort(struct hr_sequence_folder *folder)
{
    if (folder->file_count)
        qsort(folder->files, folder->file_count, sizeof *folder->files, by_number);
}

void hr__sequence_index_sort(struct hr_sequence_index *index)
{
    if (index->folder_count)
        qsort(index->folders, index->folder_count, sizeof *index->folders, by_start);
}

static void append_row(struct hr_text *out, const char *const *fields, size_t count)
{
    const char *escaped[HR_INDEX_COLUMNS];
    size_t at[HR_INDEX_COLUMNS];
    struct hr_text texts;
    hr__text_init(&texts, TEXT_MAX);
    for (size_t i = 0; i < count; i++) {
        at[i] = texts.size;
        hr__text_append_name(&texts, fields[i], strlen(fields[i]));
        hr__text_append_bytes(&texts, "", 1);
    }
    for (size_t i = 0; i < count; i++)
        escaped[i] = texts.bytes + at[i];
    if (texts.broken)
        out->broken = true;
    else
        hr__csv_append_row(out, escaped, count);
    hr__text_finish(&texts);
}

static void append_files(struct hr_text *out, const struct hr_sequence_folder *folder)
{
    for (size_t i = 0; i < folder->file_count; i++) {
        const struct hr_sequence_file *file = &folder->files[i];
        char number[NUMBER_SIZE];
        snprintf(number, sizeof number, "%" PRIu32, file->number);
        const char *const fields[HR_FILE_COLUMNS] = {
            [HR_FILE_SEQUENCE] = folder->columns[HR_INDEX_NAME],
            [HR_FILE_NUMBER] = number,
            [HR_FILE_NAME] = file->name,
            [HR_FILE_PATH] = file->path,
            [HR_FILE_TIME] = file->time,
            [HR_FILE_FILLED] = file->filled,
        };
        append_row(out, fields, HR_FILE_COLUMNS);
    }
}

static enum hr_status put(const struct hr_folder *folder, const char *name, const struct hr_text *text,
                          struct hr_fault *fault)
{
    if (text->broken)
        return hr__fault_nomem(fault, "the index of sequences");
    return hr__folder_put(folder, name, text->bytes, text->size, fault);
}

enum hr_status hr__sequence_index_save(struct hr_sequence_index *index, const struct hr_folder *folder,
                                       struct hr_fault *fault)
{
    struct hr_text sequences, files;
    hr__text_init(&sequences, TEXT_MAX);
    hr__text_init(&files, TEXT_MAX);
    hr__text_append(&sequences, HR_SEQUENCES_HEADER "\n");
    hr__text_append(&files, HR_FILES_HEADER "\n");
    for (size_t i = 0; i < index->folder_count; i++) {
        if (!index->folders[i].file_count)
            continue;
        append_row(&sequences, index->folders[i].columns, HR_INDEX_COLUMNS);
        append_files(&files, &index->folders[i]);
    }
    enum hr_status status = put(folder, HR_INDEX_FILES, &files, fault);
    if (!status)
        status = put(folder, HR_INDEX_SEQUENCES, &sequences, fault);
    hr__text_finish(&sequences);
    hr__text_finish(&files);
    return status;
}
