/* SPDX-License-Identifier: ISC */
#include "bag/proof_reader.h"

#include "platform/medium_read.h"

struct reading {
    const struct hr_proof_reader *reader;
    struct hr_proof_reading *out;
};

static enum hr_status read_whole(void *context, uint64_t *size_bytes, const struct hr_file *file,
                                 struct hr_fault *fault)
{
    struct reading *reading = context;
    const struct hr_proof_reader *reader = reading->reader;
    enum hr_status status = HR_OK;
    size_t got = HR_DIGESTER_BLOCK_BYTES;
    *size_bytes = 0;
    hr__block_digester_begin(reader->digester);
    while (!status && got == HR_DIGESTER_BLOCK_BYTES) {
        unsigned char *block = hr__block_digester_buffer(reader->digester);
        status = hr_cancel_requested(reader->cancel)
                     ? HR_CANCELLED
                     : hr__file_read_at(&got, file, block, HR_DIGESTER_BLOCK_BYTES, *size_bytes, fault);
        if (status || got == 0)
            break;
        hr__block_digester_push(reader->digester, got);
        *size_bytes += got;
        reader->advance(reader->context, *size_bytes);
    }
    hr__block_digester_end(reading->out->digests, reader->digester);
    reading->out->size_bytes = *size_bytes;
    return status;
}

enum hr_status hr__proof_read(struct hr_proof_reading *out, const struct hr_proof_reader *reader, const char *path,
                              struct hr_fault *fault)
{
    *out = (struct hr_proof_reading){0};
    struct reading reading = {.reader = reader, .out = out};
    struct hr_medium_read wanted = {.folder = reader->folder,
                                    .path = path,
                                    .shown = path,
                                    .count = reader->count,
                                    .read = read_whole,
                                    .context = &reading};
    enum hr_status status = hr__medium_read(&out->proof, &wanted, fault);
    return status;
}
