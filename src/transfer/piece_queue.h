/* SPDX-License-Identifier: ISC */
/* Pieces of files on their way from the reader to one consumer, in order. A push hands the pieces' blocks over: the
 * sender forgets them. A full queue makes the sender wait. */
#ifndef HR_TRANSFER_PIECE_QUEUE_H
#define HR_TRANSFER_PIECE_QUEUE_H

#include <stdbool.h>
#include <stdint.h>

#include <headrace/status.h>

#include "platform/thread.h"
#include "transfer/block_pool.h"

enum { HR_XXH128_BYTES = 16 };

/* Some bytes of an item; several small items may share a block. */
struct hr_piece {
    struct hr_block *block; /* NULL: no bytes, only the word that the item ends */
    uint64_t offset;        /* of the bytes in the file; where the item ends, offset + size is its size */
    uint32_t item;
    uint32_t start; /* of the bytes in the block, on a border of HR_DIRECT_ALIGNMENT */
    uint32_t size;
    uint8_t feed;   /* who read it: the pieces of one feed come item after item */
    bool is_last;
    uint8_t status; /* enum hr_status of the whole item, where it ends: HR_OK when the card gave all of it, and twice the
                       same if that was asked */
    unsigned char xxh128[HR_XXH128_BYTES]; /* of the whole item, where it ends with HR_OK */
};

enum { HR_PIECE_QUEUE_SIZE = 1024 };

struct hr_piece_queue {
    struct hr_lock lock;
    struct hr_signal changed;
    /* guarded by lock */
    struct hr_piece pieces[HR_PIECE_QUEUE_SIZE];
    size_t first, count;
    uint64_t bytes;
    bool closed;
};

void hr__piece_queue_init(struct hr_piece_queue *queue);
void hr__piece_queue_finish(struct hr_piece_queue *queue);
void hr__piece_queue_push(struct hr_piece_queue *queue, const struct hr_piece *pieces, size_t count);
/* No more will be pushed. */
void hr__piece_queue_close(struct hr_piece_queue *queue);
/* Waits for a piece; false when the queue is closed and empty. */
bool hr__piece_queue_pop(struct hr_piece_queue *queue, struct hr_piece *piece);
/* Bytes that wait in it. */
uint64_t hr__piece_queue_bytes(struct hr_piece_queue *queue);

#endif
