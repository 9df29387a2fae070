/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "offload/bag_record.h"
#include "offload/carry.h"
#include "offload/interrupted.h"

static struct hr_offload_card *card_of(struct hr_carry *carry)
{
    return &carry->offload->cards[carry->card];
}

/* ---- Beginning ---- */

static enum hr_status begin_bag(struct hr_carry *carry, size_t place, struct hr_fault *fault)
{
    struct hr_offload_card *card = card_of(carry);
    struct hr_delivery *delivery = &card->deliveries[place];
    struct hr_bag_label label = hr__label_of(carry->offload, card);
    if (delivery->bag)
        return hr__interrupted_take_over(card, place, fault);
    return hr_bag_create(&delivery->bag, carry->offload->places[place].path, &label, fault);
}

/* A run that was killed may have lost what it told the ledger last; the bag's journal has it. */
static void record_resumed(struct hr_carry *carry, const struct hr_delivery *delivery)
{
    size_t count;
    const struct hr_bag_file *rows = hr_bag_files(delivery->bag, &count);
    for (size_t i = 0; i < count; i++)
        hr__carry_ledger_row(carry, &rows[i], delivery->ledger_bag);
    hr__carry_ledger_commit(carry);
}

static void record_bag(struct hr_carry *carry, size_t place)
{
    struct hr_offload *offload = carry->offload;
    struct hr_offload_card *card = card_of(carry);
    struct hr_fault fault = {0};
    if (offload->ledger && hr__bag_record(&card->deliveries[place].ledger_bag, offload->ledger,
                                          hr_bag_path(card->deliveries[place].bag), hr_card_identity(card->card),
                                          hr_card_name(card->card), card->job, &offload->places[place].volume, &fault))
        hr__carry_ledger_failed(carry, &fault);
    record_resumed(carry, &card->deliveries[place]);
    hr_bag_forget_files(card->deliveries[place].bag);
}

static void tell_place_failed(struct hr_carry *carry, size_t place, const struct hr_fault *fault)
{
    hr__carry_event(
        carry,
        &(struct hr_offload_event){
            .kind = HR_EVENT_PLACE_FAILED, .card = carry->card, .place = place, .path = "", .text = fault->text});
}

enum hr_status hr__deliveries_begin(struct hr_carry *carry, struct hr_fault *fault)
{
    struct hr_offload_card *card = card_of(carry);
    carry->job.sink_count = 0;
    for (size_t place = 0; place < carry->offload->options.place_count; place++) {
        struct hr_delivery *delivery = &card->deliveries[place];
        delivery->sink = SIZE_MAX;
        if (delivery->files_to_copy == 0 && !delivery->bag)
            continue;
        enum hr_status status = begin_bag(carry, place, &delivery->fault);
        if (status == HR_NOMEM)
            return hr__fault_nomem(fault, "a bag");
        if (status) {
            tell_place_failed(carry, place, &delivery->fault);
            continue;
        }
        record_bag(carry, place);
        delivery->sink = carry->job.sink_count++;
        carry->place_of[delivery->sink] = place;
        carry->sinks[delivery->sink] = (struct hr_transfer_sink){.data_path = hr_bag_data_path(delivery->bag),
                                                                 .aside_path = hr_bag_aside_path(delivery->bag)};
    }
    return HR_OK;
}

/* ---- Items ---- */

/* Bits of the sinks that want the file. */
static uint8_t want(struct hr_carry *carry, struct hr_transfer_item *item, size_t file)
{
    struct hr_offload_card *card = card_of(carry);
    uint8_t wanted = 0;
    for (size_t sink = 0; sink < carry->job.sink_count; sink++) {
        uint8_t bit = (uint8_t)(1u << carry->place_of[sink]);
        if (card->in_places[file] & bit)
            continue;
        item->copies[sink].state = card->unproven[file] & bit ? HR_COPY_UNPROVEN : HR_COPY_WANTED;
        wanted |= (uint8_t)(1u << sink);
    }
    return wanted;
}

enum hr_status hr__deliveries_items(struct hr_carry *carry, struct hr_fault *fault)
{
    struct hr_offload_card *card = card_of(carry);
    const struct hr_inventory *inventory = card->inventory;
    carry->job.items = calloc(inventory->file_count + 1, sizeof *carry->job.items);
    carry->files_left = calloc(inventory->file_count + 1, 1);
    carry->frame_left = calloc(inventory->frame_count + 1, sizeof *carry->frame_left);
    if (!carry->job.items || !carry->files_left || !carry->frame_left)
        return hr__fault_nomem(fault, "the files to copy");
    for (size_t i = 0; i < inventory->file_count; i++) {
        struct hr_transfer_item item = {.file = &inventory->files[card->order[i]]};
        uint8_t wanted = want(carry, &item, card->order[i]);
        if (!wanted)
            continue;
        carry->files_left[carry->job.item_count] = wanted;
        carry->frame_left[item.file->frame]++;
        carry->job.items[carry->job.item_count++] = item;
    }
    return HR_OK;
}

/* ---- Ending ---- */

/* A card that was pulled, a run that was stopped and a place that failed may be gone on with; a file that cannot be
 * read after all attempts must not keep the rest from being a bag that proves itself. */
static bool is_complete(const struct hr_carry *carry, size_t sink, enum hr_status how_it_went)
{
    return how_it_went == HR_OK && carry->job.sinks[sink].status == HR_OK;
}

void hr__deliveries_end(struct hr_carry *carry, enum hr_status how_it_went)
{
    struct hr_offload_card *card = card_of(carry);
    for (size_t place = 0; place < carry->offload->options.place_count; place++) {
        struct hr_delivery *delivery = &card->deliveries[place];
        if (delivery->sink == SIZE_MAX)
            continue;
        const struct hr_transfer_sink *sink = &carry->sinks[delivery->sink];
        memcpy(delivery->policy, sink->policy, sizeof delivery->policy);
        if (sink->status)
            delivery->fault = sink->fault;
        else if (is_complete(carry, delivery->sink, how_it_went) && hr_bag_finish(delivery->bag, &delivery->fault))
            tell_place_failed(carry, place, &delivery->fault);
    }
}
