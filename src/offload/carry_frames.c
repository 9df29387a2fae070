/* SPDX-License-Identifier: ISC */
/* What the heads of a card's files say, written into the bags that get the files. */
#include <stdlib.h>

#include "card/frame_row.h"
#include "offload/carry.h"

static bool receives(const struct hr_carry *carry, const struct hr_transfer_item *item, size_t place)
{
    uint8_t state = item->copies[place].state;
    return state != HR_COPY_NOT_WANTED && state != HR_COPY_FAILED && carry->sinks[place].status == HR_OK &&
           carry->job_cards[item->card].landings[place].data_path != NULL;
}

static enum hr_status note_row(struct hr_carry_card *card, struct hr_bag *bag, unsigned place, const char *row,
                               struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    if (!(card->frames_begun & 1u << place))
        status = hr_bag_note_frame(bag, hr__frame_row_header, fault);
    if (!status)
        status = hr_bag_note_frame(bag, row, fault);
    card->frames_begun |= (uint8_t)(1u << place);
    return status;
}

void hr__carry_item_read(void *context, size_t item_index)
{
    struct hr_carry *carry = context;
    const struct hr_transfer_item *item = &carry->job.items[item_index];
    struct hr_carry_card *card = &carry->cards[item->card];
    char *row = hr__heads_take(&carry->heads, item_index);
    for (unsigned place = 0; row && place < carry->job.sink_count; place++) {
        struct hr_fault fault = {0};
        if (card->frames_failed & 1u << place || !receives(carry, item, place))
            continue;
        if (note_row(card, carry->offload->cards[item->card].deliveries[place].bag, place, row, &fault)) {
            card->frames_failed |= (uint8_t)(1u << place);
            hr__carry_note(carry, item->card, fault.text);
            hr__carry_note(carry, item->card, "frames.csv is not written any further: the copies do not depend on it.");
        }
    }
    free(row);
}
