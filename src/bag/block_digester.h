/* SPDX-License-Identifier: ISC */
/* Makes several digests of one file at once, on a thread of its own while the caller reads on.
 *
 * hr__block_digester_init, then for each file: begin, any number of (buffer, fill it, push), end; finish at last. */
#ifndef HR_BAG_BLOCK_DIGESTER_H
#define HR_BAG_BLOCK_DIGESTER_H

#include <headrace/digest.h>

#include "platform/thread.h"

enum { HR_DIGESTER_BLOCK_BYTES = 1 << 20, HR_DIGESTER_BLOCKS = 4 };

struct hr_block_digester {
    struct hr_hasher *hashers[HR_DIGEST_KIND_COUNT]; /* by kind; NULL where not wanted. Touched by the thread alone, by
                                                        the caller only while nothing is queued */
    unsigned char *memory; /* owned; the blocks, one after another, aligned for direct reads */
    struct hr_thread thread;
    struct hr_lock lock;
    struct hr_signal changed;
    /* guarded by lock */
    size_t sizes[HR_DIGESTER_BLOCKS];
    size_t next, queued; /* the block to be filled next; blocks pushed and not digested yet */
    bool closed;
};

/* `kinds`: bits of enum hr_digest_kind. HR_NOMEM, HR_UNSUPPORTED. Finish is due after init, however that went. */
HR_MUST_USE enum hr_status hr__block_digester_init(struct hr_block_digester *digester, unsigned kinds,
                                                   struct hr_fault *fault);
void hr__block_digester_finish(struct hr_block_digester *digester);

void hr__block_digester_begin(struct hr_block_digester *digester);
/* A free block of HR_DIGESTER_BLOCK_BYTES; waits for one. */
unsigned char *hr__block_digester_buffer(struct hr_block_digester *digester);
/* The block got last holds `size` bytes; fewer than it could is the end of the file. */
void hr__block_digester_push(struct hr_block_digester *digester, size_t size);
/* Waits for the last block; digests by kind, HR_DIGEST_NONE where not wanted. */
void hr__block_digester_end(struct hr_digest digests[HR_DIGEST_KIND_COUNT], struct hr_block_digester *digester);

#endif
