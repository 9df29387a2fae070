/* SPDX-License-Identifier: ISC */
#include "offload/carry.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/units.h"

static size_t count_files(const struct hr_offload *offload)
{
    size_t count = 0;
    for (size_t i = 0; i < offload->card_count; i++)
        count += offload->cards[i].inventory->file_count;
    return count;
}

static enum hr_status make_room(struct hr_carry *carry, struct hr_fault *fault)
{
    size_t files = count_files(carry->offload);
    carry->job.items = calloc(files + 1, sizeof *carry->job.items);
    carry->files = calloc(files + 1, sizeof *carry->files);
    if (!carry->job.items || !carry->files)
        return hr__fault_nomem(fault, "the files to copy");
    return HR_OK;
}

static void release(struct hr_carry *carry)
{
    hr__heads_finish(&carry->heads);
    free(carry->job.items);
    free(carry->files);
    for (size_t i = 0; i < HR_CARDS_MAX; i++)
        free(carry->cards[i].frame_left);
}

/* How each place was used is known when all is over. */
static void note_policies(struct hr_carry *carry)
{
    for (size_t card = 0; card < carry->offload->card_count; card++)
        for (size_t place = 0; place < carry->job.sink_count; place++)
            memcpy(carry->offload->cards[card].deliveries[place].policy, carry->sinks[place].policy,
                   sizeof carry->sinks[place].policy);
}

bool hr__carry_has_deadline(const struct hr_carry *carry)
{
    return carry->offload->options.seconds_max > 0;
}

static void set_deadline(struct hr_carry *carry)
{
    const struct hr_offload *offload = carry->offload;
    if (!hr__carry_has_deadline(carry))
        return;
    hr__deadline_init(&carry->deadline, offload->prepared_ns + (int64_t)(offload->options.seconds_max * HR_NS_PER_S),
                      carry->job.items, &offload->foreseen);
    carry->job.gate = (struct hr_transfer_gate){.context = &carry->deadline, .may_begin = hr__deadline_may_begin};
}

static enum hr_status run_engine(struct hr_carry *carry, const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_transfer_observer observer = hr__carry_observer;
    observer.context = carry;
    enum hr_status status = hr__heads_init(&carry->heads, carry->job.items, carry->job.item_count, fault);
    if (status)
        return status;
    carry->job.listener = hr__heads_listener(&carry->heads);
    set_deadline(carry);
    status = hr_transfer_run(&carry->job, &observer, cancel, fault);
    if (hr__carry_has_deadline(carry))
        hr__deadline_finish(&carry->deadline);
    hr__carry_ledger_commit(carry);
    note_policies(carry);
    return status;
}

enum hr_status hr__carry_run(struct hr_carry *carry, const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_offload *offload = carry->offload;
    carry->cancel = cancel;
    carry->job = (struct hr_transfer_job){.cards = carry->job_cards,
                                          .card_count = offload->card_count,
                                          .cards_at_once = offload->cards_at_once,
                                          .sinks = carry->sinks,
                                          .sink_count = offload->options.place_count,
                                          .make_sha256 = !offload->options.only_xxh128,
                                          .reread_card = offload->options.reread_card};
    enum hr_status status = make_room(carry, fault);
    for (size_t card = 0; card < offload->card_count && !status; card++) {
        carry->job_cards[card] =
            (struct hr_transfer_card){.card = offload->cards[card].card, .link = offload->cards[card].link};
        status = hr__deliveries_begin(carry, card, fault);
        if (!status)
            status = hr__deliveries_items(carry, card, fault);
    }
    if (!status)
        status = run_engine(carry, cancel, fault);
    release(carry);
    return status;
}
