/* SPDX-License-Identifier: ISC */
/* What is written into a bag while it is being filled: a row a file, and lines of its logs. */
#include <assert.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "bag/journal_proof.h"
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
                                : hr__journal_proof_append(bag, row.bytes, row.size, fault);
    hr__text_finish(&row);
    if (!status)
        bag->recorded++;
    /* A write that failed may have left the beginning of its row. */
    bag->has_torn_row = status != HR_OK;
    return status;
}

enum hr_status hr_bag_note_throughput(struct hr_bag *bag, const char *line, struct hr_fault *fault)
{
    return hr__bag_log_note(&bag->throughput, &bag->folder, line, fault);
}

enum hr_status hr_bag_note_frame(struct hr_bag *bag, const char *line, struct hr_fault *fault)
{
    return hr__bag_log_note(&bag->frames, &bag->folder, line, fault);
}
