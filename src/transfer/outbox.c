/* SPDX-License-Identifier: ISC */
#include "transfer/outbox.h"

void hr__outbox_add(struct hr_outbox *outbox, const struct hr_piece *piece)
{
    if (outbox->count == HR_OUTBOX_PIECES)
        hr__outbox_deliver(outbox);
    outbox->pieces[outbox->count++] = *piece;
}

void hr__outbox_deliver(struct hr_outbox *outbox)
{
    if (outbox->count)
        hr__piece_queue_push(outbox->queue, outbox->pieces, outbox->count);
    outbox->count = 0;
}
