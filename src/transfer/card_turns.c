/* SPDX-License-Identifier: ISC */
#include "transfer/card_turns.h"

#include <string.h>

void hr__card_turns_init(struct hr_card_turns *turns, const struct hr_transfer_card *cards, size_t card_count)
{
    *turns = (struct hr_card_turns){.cards = cards, .card_count = card_count};
    hr__lock_init(&turns->lock);
}

void hr__card_turns_finish(struct hr_card_turns *turns)
{
    hr__lock_finish(&turns->lock);
}

void hr__card_turns_rewind(struct hr_card_turns *turns)
{
    hr__lock_take(&turns->lock);
    memset(turns->was_taken, 0, sizeof turns->was_taken);
    hr__lock_drop(&turns->lock);
}

static bool link_is_free_locked(const struct hr_card_turns *turns, unsigned link)
{
    for (size_t i = 0; i < turns->card_count; i++)
        if (turns->is_being_read[i] && turns->cards[i].link == link)
            return false;
    return true;
}

bool hr__card_turns_take(size_t *card, struct hr_card_turns *turns)
{
    bool found = false;
    hr__lock_take(&turns->lock);
    for (size_t i = 0; i < turns->card_count && !found; i++) {
        if (turns->was_taken[i] || !link_is_free_locked(turns, turns->cards[i].link))
            continue;
        turns->was_taken[i] = turns->is_being_read[i] = found = true;
        *card = i;
    }
    hr__lock_drop(&turns->lock);
    return found;
}

void hr__card_turns_done(struct hr_card_turns *turns, size_t card)
{
    hr__lock_take(&turns->lock);
    turns->is_being_read[card] = false;
    hr__lock_drop(&turns->lock);
}
