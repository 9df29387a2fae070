/* SPDX-License-Identifier: ISC */
#include "bag/bag_log.h"

#include <string.h>

#include "base/fault.h"

enum { LINE_CEILING = 1 << 17, HEAD_SIZE = 1 << 14 };

void hr__bag_log_init(struct hr_bag_log *log, const char *part_name, size_t gather_bytes)
{
    *log = (struct hr_bag_log){.part_name = part_name, .gather_bytes = gather_bytes, .file = HR_FILE_CLOSED};
    hr__text_init(&log->lines, gather_bytes + LINE_CEILING);
}

void hr__bag_log_finish(struct hr_bag_log *log)
{
    (void)!hr__bag_log_write_out(log, NULL);
    (void)hr__file_close(&log->file, NULL);
    hr__text_finish(&log->lines);
}

/* Does the file of the run before begin with this line? Then it needs no second header. */
static bool begins_with(const char *text, size_t text_size, const char *line, size_t line_size)
{
    return text_size > line_size && !memcmp(text, line, line_size) && text[line_size] == '\n';
}

/* A run that was killed may have left the beginning of a line. */
static bool ends_within_line(const struct hr_file *file)
{
    struct hr_file_facts facts;
    char last = '\n';
    size_t got = 0;
    if (hr__file_facts(&facts, file, NULL) != HR_OK || facts.size_bytes == 0)
        return false;
    return hr__file_read_at(&got, file, &last, 1, facts.size_bytes - 1, NULL) == HR_OK && last != '\n';
}

/* *skip: bytes of `line` that stand there already. */
static void look_at_existing(struct hr_bag_log *log, size_t *skip, const struct hr_folder *folder, const char *line)
{
    char head[HEAD_SIZE];
    size_t got = 0, header_size = strcspn(line, "\n");
    struct hr_file existing;
    *skip = 0;
    if (hr__file_open(&existing, folder, log->part_name, HR_FILE_READ, false, log->part_name, NULL) != HR_OK)
        return;
    if (hr__file_read_at(&got, &existing, head, sizeof head, 0, NULL) == HR_OK &&
        begins_with(head, got, line, header_size))
        *skip = header_size + (line[header_size] == '\n');
    log->has_torn_line = ends_within_line(&existing);
    (void)hr__file_close(&existing, NULL);
}

enum hr_status hr__bag_log_write_out(struct hr_bag_log *log, struct hr_fault *fault)
{
    if (log->lines.size == 0 && !log->lines.broken)
        return HR_OK;
    enum hr_status status = log->lines.broken ? hr__fault_nomem(fault, log->part_name)
                                              : hr__file_append(&log->file, log->lines.bytes, log->lines.size, fault);
    log->has_torn_line = status != HR_OK;
    hr__text_clear(&log->lines);
    return status;
}

enum hr_status hr__bag_log_note(struct hr_bag_log *log, const struct hr_folder *folder, const char *line,
                                struct hr_fault *fault)
{
    size_t skip = 0;
    enum hr_status status = HR_OK;
    if (strlen(line) > LINE_CEILING - 2)
        return hr__fault_path(fault, HR_TOO_LARGE, 0, "too long a line for", log->part_name);
    if (log->file.descriptor < 0) {
        look_at_existing(log, &skip, folder, line);
        status = hr__file_open(&log->file, folder, log->part_name, HR_FILE_APPEND, false, log->part_name, fault);
    }
    if (status || !line[skip])
        return status;
    if (log->has_torn_line && log->lines.size == 0)
        hr__text_append(&log->lines, "\n");
    hr__text_append(&log->lines, line + skip);
    hr__text_append(&log->lines, "\n");
    bool is_due = log->lines.size >= log->gather_bytes || log->lines.broken;
    return is_due ? hr__bag_log_write_out(log, fault) : HR_OK;
}
