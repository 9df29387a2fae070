/* SPDX-License-Identifier: ISC */
/* A fixed number of aligned blocks. A block is taken by the reader, given a count of users, and is free again when the
 * last of them has let go; with no block free the reader waits, so the memory of a run is the pool, whatever the card.
 */
#ifndef HR_TRANSFER_BLOCK_POOL_H
#define HR_TRANSFER_BLOCK_POOL_H

#include <stdatomic.h>
#include <stddef.h>

#include "platform/thread.h"

enum { HR_BLOCK_BYTES = 1 << 20 };

struct hr_block {
    unsigned char *bytes; /* HR_BLOCK_BYTES, on a page border */
    atomic_int users;
    struct hr_block *next_free;
};

struct hr_block_pool {
    struct hr_block *blocks; /* set once */
    size_t block_count;
    unsigned char *memory;
    struct hr_lock lock;
    struct hr_signal freed;
    /* guarded by lock */
    struct hr_block *free_list; /* last freed first, for it is warm */
    size_t free_count;
};

/* HR_NOMEM leaves nothing behind. */
HR_MUST_USE enum hr_status hr__block_pool_init(struct hr_block_pool *pool, size_t block_count, struct hr_fault *fault);
void hr__block_pool_finish(struct hr_block_pool *pool);
/* Waits for a free block. The caller is its one user. */
struct hr_block *hr__block_pool_take(struct hr_block_pool *pool);
/* Adds users before the block is handed to them. */
void hr__block_pool_share(struct hr_block *block, int more_users);
/* One user is done with it. */
void hr__block_pool_release(struct hr_block_pool *pool, struct hr_block *block);
size_t hr__block_pool_free_count(struct hr_block_pool *pool);

#endif
