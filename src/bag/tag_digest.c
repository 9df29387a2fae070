/* SPDX-License-Identifier: ISC */
#include "bag/tag_digest.h"

#include <stdlib.h>

#include "base/fault.h"

enum { PIECE_SIZE = 1 << 16 };

static enum hr_status feed(struct hr_hasher *hasher, const struct hr_file *file, struct hr_fault *fault)
{
    unsigned char *piece = malloc(PIECE_SIZE);
    enum hr_status status = piece ? HR_OK : hr__fault_nomem(fault, "a tag file");
    size_t got = PIECE_SIZE;
    for (uint64_t offset = 0; !status && got == PIECE_SIZE; offset += got) {
        status = hr__file_read_at(&got, file, piece, PIECE_SIZE, offset, fault);
        if (!status)
            hr_hasher_update(hasher, piece, got);
    }
    free(piece);
    return status;
}

enum hr_status hr__tag_digest(struct hr_digest *out, enum hr_digest_kind kind, const struct hr_folder *folder,
                              const char *name, struct hr_fault *fault)
{
    struct hr_hasher *hasher = NULL;
    struct hr_file file = HR_FILE_CLOSED;
    enum hr_status status = hr_hasher_create(&hasher, kind, fault);
    if (!status)
        status = hr__file_open(&file, folder, name, HR_FILE_READ, false, name, fault);
    if (!status)
        status = feed(hasher, &file, fault);
    if (!status)
        *out = hr_hasher_finish(hasher);
    (void)hr__file_close(&file, NULL);
    hr_hasher_destroy(hasher);
    return status;
}
