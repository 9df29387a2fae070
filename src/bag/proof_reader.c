/* SPDX-License-Identifier: ISC */
#include "bag/proof_reader.h"

#include <string.h>

/* *counted: bytes the kernel says this thread fetched from devices meanwhile. */
static enum hr_status read_whole(struct hr_proof_reading *out, uint64_t *counted, const struct hr_proof_reader *reader,
                                 const struct hr_file *file, struct hr_fault *fault)
{
    uint64_t before = 0, after = 0;
    bool counts = hr__thread_read_bytes(&before);
    enum hr_status status = HR_OK;
    size_t got = HR_DIGESTER_BLOCK_BYTES;
    out->size_bytes = 0;
    hr__block_digester_begin(reader->digester);
    while (!status && got == HR_DIGESTER_BLOCK_BYTES) {
        unsigned char *block = hr__block_digester_buffer(reader->digester);
        status = hr_cancel_requested(reader->cancel)
                     ? HR_CANCELLED
                     : hr__file_read_at(&got, file, block, HR_DIGESTER_BLOCK_BYTES, out->size_bytes, fault);
        if (status || got == 0)
            break;
        hr__block_digester_push(reader->digester, got);
        out->size_bytes += got;
        reader->advance(reader->context, out->size_bytes);
    }
    hr__block_digester_end(out->digests, reader->digester);
    *counted = counts && hr__thread_read_bytes(&after) ? after - before : 0;
    return status;
}

/* Where the file was not read past the cache, or the kernel did not count that (btrfs answers direct reads from memory
 * right after a sync): the cache is emptied first, and shown to be. */
static enum hr_status read_evicted(struct hr_proof_reading *out, const struct hr_proof_reader *reader, const char *path,
                                   struct hr_fault *fault)
{
    struct hr_file file;
    struct hr_file_facts facts = {0};
    uint64_t resident = 0, counted = 0;
    enum hr_status status = hr__file_open(&file, reader->folder, path, HR_FILE_READ, false, path, fault);
    if (status)
        return status;
    hr__file_drop_cache(&file);
    hr__file_will_stream(&file);
    bool is_gone = hr__file_facts(&facts, &file, NULL) == HR_OK &&
                   hr__file_resident_bytes(&resident, &file, facts.size_bytes, NULL) == HR_OK && resident == 0;
    status = read_whole(out, &counted, reader, &file, fault);
    if (!status && reader->is_counted && is_gone && counted >= out->size_bytes)
        out->proof = "evicted";
    (void)hr__file_close(&file, NULL);
    return status;
}

enum hr_status hr__proof_read(struct hr_proof_reading *out, const struct hr_proof_reader *reader, const char *path,
                              struct hr_fault *fault)
{
    struct hr_file file;
    uint64_t counted = 0;
    memset(out, 0, sizeof *out);
    out->proof = "cache";
    if (!reader->is_counted)
        return read_evicted(out, reader, path, fault);
    enum hr_status status = hr__file_open(&file, reader->folder, path, HR_FILE_READ, true, path, fault);
    if (status)
        return status;
    bool is_direct = file.direct;
    if (is_direct)
        status = read_whole(out, &counted, reader, &file, fault);
    (void)hr__file_close(&file, NULL);
    if (status)
        return status;
    if (is_direct && counted >= out->size_bytes)
        out->proof = "direct";
    else
        status = read_evicted(out, reader, path, fault);
    return status;
}
