/* SPDX-License-Identifier: ISC */
/* Small copies are asked of a place's drive some way ahead of the one that is read back: one at a time, the drive would
 * be idle for the way there and back of each. */
#ifndef HR_TRANSFER_FETCH_AHEAD_H
#define HR_TRANSFER_FETCH_AHEAD_H

#include "transfer/read_back.h"

enum { HR_FETCH_AHEAD_BYTES = 2 << 20 }; /* and no more copies than HR_ASYNC_READS_MAX */

struct hr_fetch_span {
    size_t begin, end;
};

struct hr_fetched {
    struct hr_medium_fetch fetch;
    char *path;
    struct hr_fetch_span span; /* of the memory */
};

/* What was asked for of the first `count` copies of the list that is read back, in its order, in a ring. */
struct hr_fetch_ahead {
    struct hr_read_back *read_back;
    unsigned char *memory;
    struct hr_place_folder at;
    struct hr_fetched ring[HR_ASYNC_READS_MAX];
    size_t first, count;
};

/* Room for `size` bytes behind `newest`, in a ring of HR_FETCH_AHEAD_BYTES in which all from `oldest` to `newest` is
 * taken; both NULL: nothing is. False when there is none. A span never goes over the end, and a ring is never quite
 * full, or the newest would seem to stand before the oldest. */
bool hr__fetch_span_find(struct hr_fetch_span *out, const struct hr_fetch_span *oldest,
                         const struct hr_fetch_span *newest, size_t size);

/* HR_NOMEM; finish it in any case. `read_back` is ready when it is first filled. */
HR_MUST_USE enum hr_status hr__fetch_ahead_init(struct hr_fetch_ahead *ahead, struct hr_read_back *read_back,
                                                struct hr_fault *fault);
void hr__fetch_ahead_finish(struct hr_fetch_ahead *ahead);

/* Asks for the next of `list` while there is room; a large copy has a member of the ring that asks for nothing. */
void hr__fetch_ahead_fill(struct hr_fetch_ahead *ahead, const struct hr_copy_list *list);
/* Of the list's first copy, which is about to be popped: false when it was not fetched, or not whole. */
bool hr__fetch_ahead_take(struct hr_digest *digest, struct hr_fetch_ahead *ahead);
/* Lets go of all that was asked for. */
void hr__fetch_ahead_drop(struct hr_fetch_ahead *ahead);

#endif
