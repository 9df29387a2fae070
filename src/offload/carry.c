/* SPDX-License-Identifier: ISC */
#include "offload/carry.h"

#include <stdlib.h>

#include "base/fault.h"

static void tell(struct hr_carry *carry, enum hr_offload_event_kind kind)
{
    hr__carry_event(carry, &(struct hr_offload_event){
                               .kind = kind, .card = carry->card, .place = SIZE_MAX, .path = "", .text = ""});
}

/* Files that could not be read from the card at all have no copy to be told of. */
static void tell_unread(struct hr_carry *carry)
{
    for (size_t i = 0; i < carry->job.item_count; i++) {
        const struct hr_transfer_item *item = &carry->job.items[i];
        if (item->status == HR_OK || item->status == HR_CANCELLED || item->status == HR_GONE)
            continue;
        carry->now.failures++;
        hr__carry_event(carry, &(struct hr_offload_event){.kind = HR_EVENT_FILE_FAILED,
                                                          .card = carry->card,
                                                          .place = SIZE_MAX,
                                                          .path = item->file->path,
                                                          .size_bytes = item->file->size_bytes,
                                                          .text = hr_status_name((enum hr_status)item->status)});
    }
}

static void forget_card(struct hr_carry *carry)
{
    free(carry->job.items);
    free(carry->files_left);
    free(carry->frame_left);
    carry->job = (struct hr_transfer_job){0};
    carry->files_left = NULL;
    carry->frame_left = NULL;
    carry->throughput = (struct hr_throughput){0};
    carry->told_free = false;
    carry->before = carry->now;
}

static enum hr_status run_engine(struct hr_carry *carry, struct hr_fault *fault)
{
    struct hr_transfer_observer observer = hr__carry_observer;
    struct hr_fault cause = {0};
    observer.context = carry;
    enum hr_status status = HR_OK;
    if (carry->job.sink_count > 0)
        status = hr_transfer_run(&carry->job, &observer, carry->cancel, &cause);
    hr__carry_ledger_commit(carry);
    if (status == HR_GONE) {
        carry->offload->cards[carry->card].was_pulled = true;
        hr__carry_note(carry, cause.text);
    } else if (status && status != HR_CANCELLED) {
        hr__fault_set(fault, status, 0, "%s", cause.text);
    }
    return status;
}

enum hr_status hr__carry_card(struct hr_carry *carry, size_t card, struct hr_fault *fault)
{
    struct hr_offload *offload = carry->offload;
    struct hr_offload_card *state = &offload->cards[card];
    carry->card = card;
    carry->job = (struct hr_transfer_job){.card = state->card,
                                          .sinks = carry->sinks,
                                          .make_sha256 = !offload->options.only_xxh128,
                                          .reread_card = offload->options.reread_card};
    tell(carry, HR_EVENT_CARD_STARTED);
    enum hr_status status = hr__deliveries_begin(carry, fault);
    if (!status)
        status = hr__deliveries_items(carry, fault);
    if (!status)
        status = run_engine(carry, fault);
    hr__deliveries_end(carry, status);
    tell_unread(carry);
    forget_card(carry);
    tell(carry, HR_EVENT_CARD_FINISHED);
    return status == HR_GONE ? HR_OK : status;
}
