/* SPDX-License-Identifier: ISC */
#include "transfer/account.h"

#include <stdlib.h>

#include "base/fault.h"

enum hr_status hr__account_open(struct hr_account *account, const struct hr_transfer_job *job, struct hr_fault *fault)
{
    *account = (struct hr_account){.sink_count = job->sink_count};
    account->unreported = calloc(job->item_count + 1, 1);
    if (!account->unreported)
        return hr__fault_nomem(fault, "the transfer");
    for (size_t i = 0; i < job->item_count; i++) {
        const struct hr_transfer_item *item = &job->items[i];
        for (size_t sink = 0; sink < job->sink_count; sink++) {
            uint8_t state = item->copies[sink].state;
            uint32_t more = state == HR_COPY_WANTED || state == HR_COPY_UNPROVEN;
            account->cards[item->card].not_durable[sink] += more;
            account->cards[item->card].not_settled[sink] += more;
        }
    }
    return HR_OK;
}

void hr__account_close(struct hr_account *account)
{
    free(account->unreported);
    account->unreported = NULL;
}

void hr__account_drop_sink(struct hr_account *account, size_t sink)
{
    for (size_t card = 0; card < HR_CARDS_MAX; card++)
        account->cards[card].not_durable[sink] = account->cards[card].not_settled[sink] = 0;
}

static bool is_all_zero(const uint32_t *counts, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (counts[i])
            return false;
    return true;
}

bool hr__account_is_free(const struct hr_account *account, size_t card)
{
    return account->cards[card].was_read && is_all_zero(account->cards[card].not_durable, account->sink_count);
}

bool hr__account_is_settled(const struct hr_account *account, size_t card)
{
    return account->cards[card].was_read && is_all_zero(account->cards[card].not_settled, account->sink_count);
}
