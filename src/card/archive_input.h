/* SPDX-License-Identifier: ISC */
/* The bytes of an archive as libarchive asks for them: our own reading, so that a pulled drive, a stop and a damaged
 * archive are told apart. */
#ifndef HR_CARD_ARCHIVE_INPUT_H
#define HR_CARD_ARCHIVE_INPUT_H

#include <headrace/cancel.h>
#include <headrace/status.h>

#include "platform/file.h"

struct archive;

struct hr_archive_input {
    const struct hr_cancel *cancel;
    struct hr_file file;
    uint64_t size_bytes; /* as it was when the archive was recognised */
    uint64_t offset;     /* of the next read */
    char *ahead;         /* on a page border */
    size_t ahead_bytes;
    uint64_t allowed_bytes; /* that may still be read; HR_TOO_LARGE past them. What is skipped does not count */
    enum hr_status status;  /* why our reading failed, when it did */
    struct hr_fault cause;
};

/* `input` must outlive `archive`. */
void hr__archive_input_attach(struct hr_archive_input *input, struct archive *archive);

#endif
