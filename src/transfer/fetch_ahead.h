/* SPDX-License-Identifier: ISC */
/* Small copies are asked of a place's drive some way ahead of the one that is read back: one at a time, the drive would
 * be idle for the way there and back of each. */
#ifndef HR_TRANSFER_FETCH_AHEAD_H
#define HR_TRANSFER_FETCH_AHEAD_H

#include "transfer/read_back.h"

enum { HR_FETCH_AHEAD_MAX = 16 }; /* of less than HR_DIRECT_FROM_BYTES each */

/* What was asked for of the first `count` copies of the list that is read back, in its order, in a ring. */
struct hr_fetch_ahead {
    struct hr_read_back *read_back;
    struct hr_place_folder at;
    struct hr_fetched {
        struct hr_medium_fetch fetch;
        char *path;
    } ring[HR_FETCH_AHEAD_MAX];
    size_t first, count;
};
/* Zeroed but for these, none is asked for. */
#define HR_FETCH_AHEAD_NONE(of) ((struct hr_fetch_ahead){.read_back = (of), .at = HR_PLACE_FOLDER_CLOSED})

/* Asks for the next of `list` until the ring is full; a large copy has a member of the ring that asks for nothing. */
void hr__fetch_ahead_fill(struct hr_fetch_ahead *ahead, const struct hr_copy_list *list);
/* Of the list's first copy, which is about to be popped: the caller ends it with hr__fetched_finish. */
struct hr_fetched hr__fetch_ahead_pop(struct hr_fetch_ahead *ahead);
void hr__fetched_finish(struct hr_fetched *fetched);
/* Lets go of all that was asked for. */
void hr__fetch_ahead_finish(struct hr_fetch_ahead *ahead);

#endif
