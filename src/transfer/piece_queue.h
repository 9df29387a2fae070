/* SPDX-License-Identifier: ISC */
/* Pieces of files on their way from the reader to one consumer, in order. A push hands the piece's block over: the
 * sender forgets it. A full queue makes the sender wait. */
#ifndef HR_TRANSFER_PIECE_QUEUE_H
#define HR_TRANSFER_PIECE_QUEUE_H

#include <stdbool.h>
#include <stdint.h>

#include <headrace/digest.h>

#include "platform/thread.h"
#include "transfer/block_pool.h"

/* Some bytes of an item, or with no block the word that all were sent. */
struct hr_piece {
    uint32_t item;
    uint32_t size;          /* bytes in the block; the rest up to the next multiple of 4096 is zero */
    struct hr_block *block; /* NULL: the item ends here */
    uint64_t offset;        /* of the bytes in the file; at the end its size */
    enum hr_status
        status; /* at the end: HR_OK when the card gave the whole file, and twice the same if that was asked */
    struct hr_digest xxh128; /* at the end, when HR_OK */
};

enum { HR_PIECE_QUEUE_SIZE = 256 };

struct hr_piece_queue {
    struct hr_lock lock;
    struct hr_signal changed;
    /* guarded by lock */
    struct hr_piece pieces[HR_PIECE_QUEUE_SIZE];
    size_t first, count;
    bool closed;
};

void hr__piece_queue_init(struct hr_piece_queue *queue);
void hr__piece_queue_finish(struct hr_piece_queue *queue);
void hr__piece_queue_push(struct hr_piece_queue *queue, const struct hr_piece *piece);
/* No more will be pushed. */
void hr__piece_queue_close(struct hr_piece_queue *queue);
/* Waits for a piece; false when the queue is closed and empty. */
bool hr__piece_queue_pop(struct hr_piece_queue *queue, struct hr_piece *piece);
size_t hr__piece_queue_count(struct hr_piece_queue *queue);

#endif
