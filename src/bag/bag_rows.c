/* SPDX-License-Identifier: ISC */
/* What is written into a bag while it is being filled: a row a file, and lines of throughput. */
#include <assert.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "base/fault.h"

enum { ROW_CEILING = 1 << 17 };

const struct hr_bag_file *hr_bag_files(const struct hr_bag *bag, size_t *count)
{
    *count = bag->resumed.count;
    return bag->resumed.rows;
}

const struct hr_bag_file *hr_bag_find(const struct hr_bag *bag, const char *path)
{
    return hr__journal_find(&bag->resumed, path);
}

void hr_bag_forget_files(struct hr_bag *bag)
{
    hr__journal_finish(&bag->resumed);
    hr_bag_paths_free(bag->loose, bag->loose_count);
    bag->loose = NULL;
    bag->loose_count = bag->loose_capacity = 0;
    bag->loose_bytes = 0;
}

uint64_t hr_bag_loose_bytes(const struct hr_bag *bag)
{
    return bag->loose_bytes;
}

char *const *hr_bag_loose(const struct hr_bag *bag, size_t *count)
{
    *count = bag->loose_count;
    return bag->loose;
}

enum hr_status hr_bag_record(struct hr_bag *bag, const struct hr_bag_file *file, struct hr_fault *fault)
{
    struct hr_text row;
    assert(!bag->is_finished && bag->journal.descriptor >= 0);
    if (!hr__journal_row_is_fit(file))
        return hr__fault_path(fault, HR_INVALID, 0, "cannot be recorded as proven:", file->path);
    hr__text_init(&row, ROW_CEILING);
    if (bag->has_torn_row)
        hr__text_append(&row, "\n");
    hr__journal_append_row(&row, file);
    enum hr_status status = row.broken
                                ? hr__fault_path(fault, HR_TOO_LARGE, 0, "too long a path to record:", file->path)
                                : hr__file_append(&bag->journal, row.bytes, row.size, fault);
    hr__text_finish(&row);
    if (!status)
        bag->recorded++;
    /* A write that failed may have left the beginning of its row. */
    bag->has_torn_row = status != HR_OK;
    return status;
}

/* ---- Throughput ---- */

/* Does the file of the run before begin with this line? Then it needs no second header. */
static bool begins_with(const char *text, size_t text_size, const char *line, size_t line_size)
{
    return text_size > line_size && !memcmp(text, line, line_size) && text[line_size] == '\n';
}

/* Opens the file at the first line of this run; *skip: bytes of `line` that stand there already. */
static enum hr_status open_throughput(struct hr_bag *bag, const char *line, size_t *skip, struct hr_fault *fault)
{
    enum { HEAD_SIZE = 1 << 14 };
    char head[HEAD_SIZE];
    size_t got = 0, header_size = strcspn(line, "\n");
    struct hr_file existing;
    if (hr__file_open(&existing, &bag->folder, HR_BAG_THROUGHPUT_PART, HR_FILE_READ, false, HR_BAG_THROUGHPUT_PART,
                      NULL) == HR_OK) {
        if (hr__file_read_at(&got, &existing, head, sizeof head, 0, NULL))
            got = 0;
        (void)hr__file_close(&existing, NULL);
    }
    *skip = begins_with(head, got, line, header_size) ? header_size : 0;
    *skip += *skip && line[*skip] == '\n';
    bag->has_throughput_header = true;
    return hr__file_open(&bag->throughput, &bag->folder, HR_BAG_THROUGHPUT_PART, HR_FILE_APPEND, false,
                         HR_BAG_THROUGHPUT_PART, fault);
}

enum hr_status hr_bag_note_throughput(struct hr_bag *bag, const char *line, struct hr_fault *fault)
{
    size_t skip = 0;
    struct hr_text text;
    enum hr_status status = HR_OK;
    if (!bag->has_throughput_header)
        status = open_throughput(bag, line, &skip, fault);
    if (status || !line[skip])
        return status;
    hr__text_init(&text, ROW_CEILING);
    hr__text_append(&text, line + skip);
    hr__text_append(&text, "\n");
    status = text.broken ? hr__fault_set(fault, HR_TOO_LARGE, 0, "too long a line for throughput.csv")
                         : hr__file_append(&bag->throughput, text.bytes, text.size, fault);
    hr__text_finish(&text);
    return status;
}
