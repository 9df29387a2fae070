/* SPDX-License-Identifier: ISC */
/* Reads one file of a bag whole, past the page cache where that can be had, and says where its bytes came from. */
#ifndef HR_BAG_PROOF_READER_H
#define HR_BAG_PROOF_READER_H

#include <headrace/cancel.h>
#include <headrace/proof.h>

#include "bag/block_digester.h"
#include "platform/folder.h"

struct hr_proof_reader {
    const struct hr_folder *folder;
    struct hr_block_digester *digester;
    const struct hr_fetch_count *count; /* of this thread; NULL where the volume is not counted */
    const struct hr_cancel *cancel;
    void *context;
    void (*advance)(void *context, uint64_t bytes); /* of this file, so far */
};

struct hr_proof_reading {
    struct hr_digest digests[HR_DIGEST_KIND_COUNT]; /* by kind */
    uint64_t size_bytes;
    enum hr_proof proof;
};

/* HR_CANCELLED, HR_NOT_FOUND, HR_UNSUPPORTED (a link, no regular file), HR_DENIED, HR_IO, HR_GONE, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__proof_read(struct hr_proof_reading *out, const struct hr_proof_reader *reader,
                                          const char *path, struct hr_fault *fault);

#endif
