/* SPDX-License-Identifier: ISC */
#include "cli/buffer_memory.h"

#include <stdio.h>
#include <string.h>

#include <headrace/ledger.h>
#include <headrace/name.h>

#include "base/fault.h"
#include "cli/progress_pen.h"
#include "cli/when.h"

enum { FILES_COLUMNS_MAX = 30, SHOWN_SIZE = 96 };

static enum hr_status add_group(struct hr_ledger *ledger, const struct buffer_groups *groups,
                                const struct buffer_group *group, struct hr_fault *fault)
{
    const struct hr_body *body = &groups->grouping->bodies[group->body];
    char files[BUFFER_FILES_SIZE];
    const struct hr_ledger_buffer buffer = {.body = body->serial[0] ? body->serial : body->model,
                                            .card = group->label,
                                            .files = buffer_files_name(files, group),
                                            .shot_local_ns = group->last_local_ns,
                                            .depth_frames = group->found.buffer.depth_frames,
                                            .drain_per_s = group->found.buffer.drain_per_s,
                                            .drain_bytes_per_s = group->found.drain_bytes_per_s};
    return *buffer.body ? hr_ledger_add_buffer(ledger, &buffer, fault) : HR_OK; /* nothing to know it by again */
}

enum hr_status buffer_remember(const char *ledger_path, const struct buffer_groups *groups, struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    if (groups->count == 0)
        return HR_OK;
    enum hr_status status = hr_ledger_open(&ledger, ledger_path, fault);
    if (status == HR_OK)
        status = hr_ledger_begin(ledger, fault);
    for (size_t i = 0; i < groups->count && status == HR_OK; i++)
        status = add_group(ledger, groups, &groups->items[i], fault);
    if (status == HR_OK)
        status = hr_ledger_commit(ledger, fault);
    hr_ledger_close(ledger);
    return status;
}

struct recall {
    struct hr_buffer *buffer;
    char *source;
    bool is_found;
};

static bool take(void *context, const struct hr_ledger_buffer *buffer)
{
    struct recall *recall = context;
    char date[CLI_WHEN_SIZE], body[SHOWN_SIZE], files[PEN_NAME_SIZE];
    recall->is_found = buffer->depth_frames > 0 && buffer->drain_per_s > 0;
    if (!recall->is_found)
        return true;
    *recall->buffer = (struct hr_buffer){buffer->depth_frames, buffer->drain_per_s};
    hr_escape_name(body, sizeof body, buffer->body, strlen(buffer->body));
    pen_format_name(files, buffer->files, FILES_COLUMNS_MAX);
    snprintf(recall->source, BUFFER_SOURCE_SIZE, "body %s, %s: depth %.1f, drain %.1f, as shot %s", body, files,
             buffer->depth_frames, buffer->drain_per_s, cli_when_date(date, buffer->shot_local_ns));
    return false;
}

enum hr_status buffer_recall(struct hr_buffer *out, char source[BUFFER_SOURCE_SIZE], const char *ledger_path,
                             const char *body, struct hr_fault *fault)
{
    struct recall recall = {.buffer = out, .source = source};
    struct hr_ledger *ledger = NULL;
    enum hr_status status = hr_ledger_open_read_only(&ledger, ledger_path, fault);
    if (status == HR_OK)
        status = hr_ledger_buffers(ledger, body, SIZE_MAX, take, &recall, fault);
    hr_ledger_close(ledger);
    if (status != HR_OK || recall.is_found)
        return status;
    char shown[SHOWN_SIZE];
    hr_escape_name(shown, sizeof shown, body, strlen(body));
    return hr__fault_set(fault, HR_NOT_FOUND, 0, "no depth of body %s is known: headrace buffer from PLACE finds it",
                         shown);
}
