/* SPDX-License-Identifier: ISC */
/* Pieces on their way from a feed to one queue, gathered so that many small ones wake its reader once. */
#ifndef HR_TRANSFER_OUTBOX_H
#define HR_TRANSFER_OUTBOX_H

#include "transfer/piece_queue.h"

enum { HR_OUTBOX_PIECES = 64 };

struct hr_outbox {
    struct hr_piece_queue *queue;
    struct hr_piece pieces[HR_OUTBOX_PIECES];
    size_t count;
};

void hr__outbox_add(struct hr_outbox *outbox, const struct hr_piece *piece);
/* Hands over all that was gathered. */
void hr__outbox_deliver(struct hr_outbox *outbox);

#endif
