/* SPDX-License-Identifier: ISC */
#include "transfer/block_pool.h"

#include <stdlib.h>

#include "base/fault.h"
#include "platform/machine.h"

enum hr_status hr__block_pool_init(struct hr_block_pool *pool, size_t block_count, struct hr_fault *fault)
{
    *pool = (struct hr_block_pool){.block_count = block_count};
    pool->blocks = calloc(block_count, sizeof *pool->blocks);
    pool->memory = hr__aligned_alloc(block_count * HR_BLOCK_BYTES);
    if (!pool->blocks || !pool->memory) {
        free(pool->blocks);
        hr__aligned_free(pool->memory);
        return hr__fault_nomem(fault, "the transfer's blocks");
    }
    hr__lock_init(&pool->lock);
    hr__signal_init(&pool->freed);
    for (size_t i = 0; i < block_count; i++) {
        pool->blocks[i].bytes = pool->memory + i * HR_BLOCK_BYTES;
        pool->blocks[i].next_free = pool->free_list;
        pool->free_list = &pool->blocks[i];
    }
    pool->free_count = block_count;
    return HR_OK;
}

void hr__block_pool_finish(struct hr_block_pool *pool)
{
    hr__signal_finish(&pool->freed);
    hr__lock_finish(&pool->lock);
    hr__aligned_free(pool->memory);
    free(pool->blocks);
}

struct hr_block *hr__block_pool_take(struct hr_block_pool *pool)
{
    hr__lock_take(&pool->lock);
    while (!pool->free_list)
        hr__signal_wait(&pool->freed, &pool->lock);
    struct hr_block *block = pool->free_list;
    pool->free_list = block->next_free;
    pool->free_count--;
    hr__lock_drop(&pool->lock);
    atomic_store(&block->users, 1);
    return block;
}

void hr__block_pool_share(struct hr_block *block, int more_users)
{
    atomic_fetch_add(&block->users, more_users);
}

void hr__block_pool_release(struct hr_block_pool *pool, struct hr_block *block)
{
    if (atomic_fetch_sub(&block->users, 1) != 1)
        return;
    hr__lock_take(&pool->lock);
    block->next_free = pool->free_list;
    pool->free_list = block;
    pool->free_count++;
    hr__signal_all(&pool->freed);
    hr__lock_drop(&pool->lock);
}

size_t hr__block_pool_free_count(struct hr_block_pool *pool)
{
    hr__lock_take(&pool->lock);
    size_t count = pool->free_count;
    hr__lock_drop(&pool->lock);
    return count;
}
