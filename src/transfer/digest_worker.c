/* SPDX-License-Identifier: ISC */
#include "platform/machine.h"
#include "transfer/engine.h"

size_t hr__digest_worker_count(void)
{
    size_t count = hr__processor_count();
    return count < HR_DIGEST_WORKERS_MAX ? count : HR_DIGEST_WORKERS_MAX;
}

static void post_digest(struct hr_engine *engine, uint32_t item, struct hr_hasher *hasher)
{
    struct hr_event event = {.kind = HR_POSTED_DIGEST, .item = item, .digest = hr_hasher_finish(hasher)};
    atomic_fetch_add(&engine->digested.files, 1);
    hr__event_post(&engine->events, &event, NULL);
}

/* Without a hasher it still lets go of every block, so that nobody waits for it; the files then end without a SHA-256.
 */
void hr__digest_worker_run(void *argument)
{
    struct hr_digest_worker *worker = argument;
    struct hr_engine *engine = worker->engine;
    struct hr_hasher *hasher = NULL;
    struct hr_piece piece;
    enum hr_status status = hr_hasher_create(&hasher, HR_DIGEST_SHA256, NULL);
    while (hr__piece_queue_pop(&worker->queue, &piece)) {
        if (piece.block) {
            if (!status)
                hr_hasher_update(hasher, piece.block->bytes + piece.start, piece.size);
            hr__block_pool_release(&engine->pool, piece.block);
            atomic_fetch_add(&engine->digested.bytes, piece.size);
        }
        if (piece.is_last && !status) {
            if (!piece.status)
                post_digest(engine, piece.item, hasher);
            hr_hasher_restart(hasher);
        }
    }
    hr_hasher_destroy(hasher);
    hr__event_thread_ends(&engine->events);
}
