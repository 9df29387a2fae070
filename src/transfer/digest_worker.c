/* SPDX-License-Identifier: ISC */
#include "platform/machine.h"
#include "transfer/engine.h"

size_t hr__digest_worker_count(void)
{
    size_t count = hr__processor_count();
    return count < HR_DIGEST_WORKERS_MAX ? count : HR_DIGEST_WORKERS_MAX;
}

static void end_item(const struct hr_digest_worker *worker, const struct hr_piece *last)
{
    struct hr_hasher *hasher = worker->hashers[last->feed];
    struct hr_event event = {.kind = HR_POSTED_DIGEST, .item = last->item};
    if (!last->status) {
        event.digest = hr_hasher_finish(hasher);
        atomic_fetch_add(&worker->engine->digested.files, 1);
        hr__event_post(&worker->engine->events, &event, NULL);
    }
    hr_hasher_restart(hasher);
}

void hr__digest_worker_run(void *argument)
{
    struct hr_digest_worker *worker = argument;
    struct hr_engine *engine = worker->engine;
    struct hr_piece piece;
    while (hr__piece_queue_pop(&worker->queue, &piece)) {
        if (piece.block) {
            hr_hasher_update(worker->hashers[piece.feed], piece.block->bytes + piece.start, piece.size);
            hr__block_pool_release(&engine->pool, piece.block);
            atomic_fetch_add(&engine->digested.bytes, piece.size);
        }
        if (piece.is_last)
            end_item(worker, &piece);
    }
    hr__event_thread_ends(&engine->events);
}
