/* SPDX-License-Identifier: ISC */
#include "platform/folder_copy.h"

#include <stdlib.h>

#include "base/fault.h"

enum { BLOCK_SIZE = 1 << 20 };

static enum hr_status copy_bytes(struct hr_file *to, const struct hr_file *from, uint64_t size, struct hr_fault *fault)
{
    char *block = malloc(BLOCK_SIZE);
    if (!block)
        return hr__fault_nomem(fault, "copying a file");
    enum hr_status status = HR_OK;
    uint64_t done = 0;
    for (size_t got = BLOCK_SIZE; got == BLOCK_SIZE && !status; done += got) {
        status = hr__file_read_at(&got, from, block, BLOCK_SIZE, done, fault);
        if (!status && got)
            status = hr__file_write_at(to, block, got, done, fault);
    }
    free(block);
    if (!status && done != size)
        status = hr__fault_path(fault, HR_DIFFERS, 0, "changed while it was copied:", from->path);
    return status;
}

static enum hr_status write_copy(const struct hr_folder *folder, const struct hr_file *from, const char *to,
                                 uint64_t size, enum hr_copying how, struct hr_fault *fault)
{
    struct hr_file copy;
    struct hr_file_facts facts;
    enum hr_status status = hr__file_facts(&facts, from, fault);
    if (!status && facts.size_bytes != size)
        status = hr__fault_path(fault, HR_DIFFERS, 0, "has another size than it must:", from->path);
    if (!status)
        status = hr__file_open(&copy, folder, to, HR_FILE_CREATE, false, to, fault);
    if (status)
        return status;
    status = how == HR_COPY_BYTES ? copy_bytes(&copy, from, size, fault) : hr__file_share(&copy, from, fault);
    if (!status)
        status = hr__file_set_modified(&copy, facts.modified_ns, fault);
    if (!status)
        status = hr__file_sync(&copy, fault);
    enum hr_status closed = hr__file_close(&copy, fault);
    status = status ? status : closed;
    if (status)
        hr__folder_remove(folder, to, NULL);
    return status;
}

enum hr_status hr__folder_copy(const struct hr_folder *folder, const char *from, const char *to, uint64_t size_bytes,
                               enum hr_copying how, struct hr_fault *fault)
{
    struct hr_file file;
    enum hr_status status = hr__file_open(&file, folder, from, HR_FILE_READ, false, from, fault);
    if (status)
        return status;
    status = write_copy(folder, &file, to, size_bytes, how, fault);
    (void)hr__file_close(&file, NULL);
    return status;
}
