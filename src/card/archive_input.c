/* SPDX-License-Identifier: ISC */
#include "card/archive_input.h"

#include <errno.h>
#include <stdio.h>

#include <archive.h>

static enum hr_status read_ahead(size_t *got, struct hr_archive_input *input)
{
    if (hr_cancel_requested(input->cancel))
        return HR_CANCELLED;
    if (input->allowed_bytes < input->ahead_bytes)
        return HR_TOO_LARGE;
    input->allowed_bytes -= input->ahead_bytes;
    return hr__file_read_at(got, &input->file, input->ahead, input->ahead_bytes, input->offset, &input->cause);
}

static la_ssize_t give_bytes(struct archive *archive, void *context, const void **bytes)
{
    struct hr_archive_input *input = context;
    size_t got = 0;
    input->status = read_ahead(&got, input);
    if (input->status) {
        archive_set_error(archive, EIO, "%s", hr_status_name(input->status));
        return ARCHIVE_FATAL;
    }
    input->offset += got;
    *bytes = input->ahead;
    return (la_ssize_t)got;
}

/* Never past the end, so that an archive cut short is found out when its bytes are missed. */
static la_int64_t skip_bytes(struct archive *archive, void *context, la_int64_t count)
{
    struct hr_archive_input *input = context;
    (void)archive;
    uint64_t left = input->offset < input->size_bytes ? input->size_bytes - input->offset : 0;
    uint64_t skipped = count < 0 ? 0 : (uint64_t)count < left ? (uint64_t)count : left;
    input->offset += skipped;
    return (la_int64_t)skipped;
}

static la_int64_t seek_to(struct archive *archive, void *context, la_int64_t offset, int whence)
{
    struct hr_archive_input *input = context;
    la_int64_t size = (la_int64_t)input->size_bytes;
    la_int64_t from = whence == SEEK_SET ? 0 : whence == SEEK_END ? size : (la_int64_t)input->offset;
    (void)archive;
    if (offset < -from || offset > size - from)
        return ARCHIVE_FATAL;
    input->offset = (uint64_t)(from + offset);
    return from + offset;
}

void hr__archive_input_attach(struct hr_archive_input *input, struct archive *archive)
{
    archive_read_set_read_callback(archive, give_bytes);
    archive_read_set_skip_callback(archive, skip_bytes);
    archive_read_set_seek_callback(archive, seek_to);
    archive_read_set_callback_data(archive, input);
}
