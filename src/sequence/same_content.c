/* SPDX-License-Identifier: ISC */
#include "sequence/same_content.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "platform/folder.h"

enum { PIECE_BYTES = 1 << 20 };

static enum hr_status read_through(struct hr_hasher *hasher, const char *path, unsigned char *piece,
                                   const struct hr_cancel *cancel)
{
    struct hr_folder folder = HR_FOLDER_CLOSED;
    struct hr_file file = HR_FILE_CLOSED;
    size_t got = PIECE_BYTES, length = strlen(path) - strlen(hr__path_last(path));
    char *above = strndup(path, length);
    enum hr_status status = above ? hr__folder_open(&folder, above, NULL) : HR_NOMEM;
    if (!status)
        status = hr__file_open(&file, &folder, hr__path_last(path), HR_FILE_READ, false, path, NULL);
    for (uint64_t offset = 0; !status && got == PIECE_BYTES; offset += got) {
        status = hr_cancel_requested(cancel) ? HR_CANCELLED
                                             : hr__file_read_at(&got, &file, piece, PIECE_BYTES, offset, NULL);
        if (!status)
            hr_hasher_update(hasher, piece, got);
    }
    (void)hr__file_close(&file, NULL);
    hr__folder_close(&folder);
    free(above);
    return status;
}

/* Leaves the digest as it is when the file cannot be read. */
static enum hr_status make_digest(struct hr_gathered_file *item, const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_hasher *hasher = NULL;
    unsigned char *piece = malloc(PIECE_BYTES);
    enum hr_status status = piece ? hr_hasher_create(&hasher, HR_DIGEST_XXH128, fault) : HR_NOMEM;
    if (!status)
        status = read_through(hasher, item->file.path, piece, cancel);
    if (!status)
        item->digest = hr_hasher_finish(hasher);
    hr_hasher_destroy(hasher);
    free(piece);
    if (status == HR_NOMEM)
        return hr__fault_nomem(fault, "comparing files");
    return status == HR_CANCELLED ? status : HR_OK;
}

enum hr_status hr__same_content(bool *out, struct hr_gathered_file *a, struct hr_gathered_file *b,
                                const struct hr_cancel *cancel, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    *out = false;
    if (a->file.size_bytes != b->file.size_bytes)
        return HR_OK;
    if (a->digest.kind == HR_DIGEST_NONE)
        status = make_digest(a, cancel, fault);
    if (!status && b->digest.kind == HR_DIGEST_NONE)
        status = make_digest(b, cancel, fault);
    *out = !status && hr_digest_equal(&a->digest, &b->digest);
    return status;
}
