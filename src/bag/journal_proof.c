/* SPDX-License-Identifier: ISC */
#include "bag/journal_proof.h"

#include "bag/bag_names.h"
#include "base/fault.h"
#include "platform/machine.h"
#include "platform/medium_read.h"

enum { BLOCK_BYTES = 1 << 16 };

struct reading {
    uint64_t before; /* bytes that are not this run's */
    struct hr_hasher *hasher;
    unsigned char *block;
};

enum hr_status hr__journal_proof_begin(struct hr_bag *bag, struct hr_fault *fault)
{
    struct hr_file_facts facts;
    enum hr_status status = hr__file_facts(&facts, &bag->journal, fault);
    if (!status)
        bag->journal_before = facts.size_bytes;
    return status ? status : hr_hasher_create(&bag->journal_hasher, HR_DIGEST_XXH128, fault);
}

enum hr_status hr__journal_proof_append(struct hr_bag *bag, const void *bytes, size_t size, struct hr_fault *fault)
{
    enum hr_status status = hr__file_append(&bag->journal, bytes, size, fault);
    if (!status && bag->journal_hasher) {
        hr_hasher_update(bag->journal_hasher, bytes, size);
    } else if (status) {
        hr_hasher_destroy(bag->journal_hasher);
        bag->journal_hasher = NULL;
    }
    return status;
}

static enum hr_status read_whole(void *context, uint64_t *size_bytes, const struct hr_file *file,
                                 struct hr_fault *fault)
{
    struct reading *reading = context;
    size_t got = BLOCK_BYTES;
    hr_hasher_restart(reading->hasher);
    for (*size_bytes = 0; got == BLOCK_BYTES; *size_bytes += got) {
        enum hr_status status = hr__file_read_at(&got, file, reading->block, BLOCK_BYTES, *size_bytes, fault);
        if (status)
            return status;
        uint64_t skip = reading->before > *size_bytes ? reading->before - *size_bytes : 0;
        if (skip < got)
            hr_hasher_update(reading->hasher, reading->block + skip, got - (size_t)skip);
    }
    return HR_OK;
}

enum hr_status hr__journal_prove(struct hr_bag *bag, struct hr_fault *fault)
{
    if (!bag->journal_hasher)
        return HR_OK;
    struct hr_digest written = hr_hasher_finish(bag->journal_hasher), found = written;
    struct reading reading = {
        .before = bag->journal_before, .hasher = bag->journal_hasher, .block = hr__aligned_alloc(BLOCK_BYTES)};
    struct hr_medium_read wanted = {.folder = &bag->folder,
                                    .path = HR_BAG_FILES_PART,
                                    .shown = HR_BAG_FILES_PART,
                                    .read = read_whole,
                                    .context = &reading};
    enum hr_proof proof;
    enum hr_status status = reading.block ? HR_OK : hr__fault_nomem(fault, "the read-back of the journal");
    if (!status)
        status = hr__file_sync(&bag->journal, fault);
    if (!status)
        status = hr__medium_read(&proof, &wanted, fault);
    if (!status)
        found = hr_hasher_finish(reading.hasher);
    if (!status && !hr_digest_equal(&written, &found)) {
        (void)hr__folder_remove(&bag->folder, HR_BAG_FILES_PART, NULL);
        status = hr__fault_path(fault, HR_DIFFERS, 0, "reads back different from what was written:", HR_BAG_FILES_PART);
    }
    hr__aligned_free(reading.block);
    hr_hasher_destroy(bag->journal_hasher);
    bag->journal_hasher = NULL;
    return status;
}
