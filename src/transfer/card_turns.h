/* SPDX-License-Identifier: ISC */
/* Which feed reads which card: in the order of the job, and of the cards on one link one at a time. */
#ifndef HR_TRANSFER_CARD_TURNS_H
#define HR_TRANSFER_CARD_TURNS_H

#include <headrace/transfer.h>

#include "platform/thread.h"

struct hr_card_turns {
    const struct hr_transfer_card *cards; /* set once */
    size_t card_count;
    struct hr_lock lock;
    /* guarded by lock */
    bool was_taken[HR_CARDS_MAX], is_being_read[HR_CARDS_MAX];
};

void hr__card_turns_init(struct hr_card_turns *turns, const struct hr_transfer_card *cards, size_t card_count);
void hr__card_turns_finish(struct hr_card_turns *turns);
/* A new pass: every card may be taken again. */
void hr__card_turns_rewind(struct hr_card_turns *turns);
/* The next card whose link nobody reads, now being read; false when none is left for this feed: whoever reads a link
 * takes what else stands on it. */
bool hr__card_turns_take(size_t *card, struct hr_card_turns *turns);
void hr__card_turns_done(struct hr_card_turns *turns, size_t card);

#endif
