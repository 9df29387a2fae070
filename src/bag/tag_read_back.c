/* SPDX-License-Identifier: ISC */
#include "bag/tag_read_back.h"

#include <string.h>

#include "base/fault.h"
#include "platform/machine.h"
#include "platform/medium_read.h"

enum { BLOCK_BYTES = 1 << 16 };

struct reading {
    const struct hr_text *text;
    unsigned char *block;
    bool is_the_text;
};

static enum hr_status compare_whole(void *context, uint64_t *size_bytes, const struct hr_file *file,
                                    struct hr_fault *fault)
{
    struct reading *reading = context;
    const struct hr_text *text = reading->text;
    size_t at = 0, got = BLOCK_BYTES;
    reading->is_the_text = true;
    while (got == BLOCK_BYTES && at <= text->size) {
        enum hr_status status = hr__file_read_at(&got, file, reading->block, BLOCK_BYTES, at, fault);
        if (status)
            return status;
        reading->is_the_text &= got <= text->size - at && !memcmp(reading->block, text->bytes + at, got);
        at += got;
    }
    reading->is_the_text &= at == text->size;
    *size_bytes = at;
    return HR_OK;
}

enum hr_status hr__tag_read_back(const struct hr_folder *folder, const char *name, const struct hr_text *text,
                                 struct hr_fault *fault)
{
    struct reading reading = {.text = text, .block = hr__aligned_alloc(BLOCK_BYTES)};
    struct hr_medium_read wanted = {
        .folder = folder, .path = name, .shown = name, .read = compare_whole, .context = &reading};
    enum hr_proof proof;
    enum hr_status status = reading.block ? HR_OK : hr__fault_nomem(fault, "the read-back of a tag file");
    if (!status)
        status = hr__medium_read(&proof, &wanted, fault);
    if (!status && !reading.is_the_text)
        status = hr__fault_path(fault, HR_DIFFERS, 0, "reads back different from what was written:", name);
    hr__aligned_free(reading.block);
    return status;
}
