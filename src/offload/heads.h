/* SPDX-License-Identifier: ISC */
/* What the heads of pictures and clips say, heard while their cards are read: no byte is read for it that is not copied
 * anyway. A row of frames.csv for each whose head came in order; one that points back to what has passed has none, and
 * is read again by whoever wants to know. */
#ifndef HR_OFFLOAD_HEADS_H
#define HR_OFFLOAD_HEADS_H

#include <headrace/media.h>
#include <headrace/transfer.h>

struct hr_heads {
    const struct hr_transfer_item *items; /* borrowed; set once, as the count */
    size_t item_count;
    struct hr_media_reader *readers[HR_FEEDS_MAX]; /* of the item a feed reads; NULL: nothing to be learnt. Each feed's
                                                      own */
    char **rows; /* by item, owned: its feed's until the item is told to be read, then the caller's */
};

HR_MUST_USE enum hr_status hr__heads_init(struct hr_heads *heads, const struct hr_transfer_item *items,
                                          size_t item_count, struct hr_fault *fault);
/* Takes a zeroed one. */
void hr__heads_finish(struct hr_heads *heads);
struct hr_transfer_listener hr__heads_listener(struct hr_heads *heads);

/* Once the item was told to be read: its row (the caller frees), NULL when there is none or it was taken. */
char *hr__heads_take(struct hr_heads *heads, size_t item);

#endif
