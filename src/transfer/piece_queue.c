/* SPDX-License-Identifier: ISC */
#include "transfer/piece_queue.h"

void hr__piece_queue_init(struct hr_piece_queue *queue)
{
    hr__lock_init(&queue->lock);
    hr__signal_init(&queue->changed);
    queue->first = 0;
    queue->count = 0;
    queue->bytes = 0;
    queue->closed = false;
}

void hr__piece_queue_finish(struct hr_piece_queue *queue)
{
    hr__signal_finish(&queue->changed);
    hr__lock_finish(&queue->lock);
}

void hr__piece_queue_push(struct hr_piece_queue *queue, const struct hr_piece *pieces, size_t count)
{
    hr__lock_take(&queue->lock);
    for (size_t i = 0; i < count; i++) {
        while (queue->count == HR_PIECE_QUEUE_SIZE) {
            hr__signal_all(&queue->changed); /* it may sleep: what is in there was not told yet */
            hr__signal_wait(&queue->changed, &queue->lock);
        }
        queue->pieces[(queue->first + queue->count) % HR_PIECE_QUEUE_SIZE] = pieces[i];
        queue->count++;
        queue->bytes += pieces[i].size;
    }
    hr__signal_all(&queue->changed);
    hr__lock_drop(&queue->lock);
}

void hr__piece_queue_close(struct hr_piece_queue *queue)
{
    hr__lock_take(&queue->lock);
    queue->closed = true;
    hr__signal_all(&queue->changed);
    hr__lock_drop(&queue->lock);
}

bool hr__piece_queue_pop(struct hr_piece_queue *queue, struct hr_piece *piece)
{
    hr__lock_take(&queue->lock);
    while (queue->count == 0 && !queue->closed)
        hr__signal_wait(&queue->changed, &queue->lock);
    bool got = queue->count > 0;
    if (got) {
        *piece = queue->pieces[queue->first];
        queue->first = (queue->first + 1) % HR_PIECE_QUEUE_SIZE;
        if (queue->count-- == HR_PIECE_QUEUE_SIZE)
            hr__signal_all(&queue->changed);
        queue->bytes -= piece->size;
    }
    hr__lock_drop(&queue->lock);
    return got;
}

uint64_t hr__piece_queue_bytes(struct hr_piece_queue *queue)
{
    hr__lock_take(&queue->lock);
    uint64_t bytes = queue->bytes;
    hr__lock_drop(&queue->lock);
    return bytes;
}
