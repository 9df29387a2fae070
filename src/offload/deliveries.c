/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "offload/bag_record.h"
#include "offload/carry.h"
#include "offload/interrupted.h"

/* ---- Beginning ---- */

/* Between the look at a place and its first bag minutes may pass while a card is read: where a drive that has a folder
 * of its own to be mounted on drops off, the folder is there still, on another disk. */
static enum hr_status is_on_its_drive(const struct hr_offload_place *place, const struct hr_bag *bag,
                                      struct hr_fault *fault)
{
    struct hr_volume now = {0};
    enum hr_status status = hr__volume_of(&now, hr_bag_path(bag), &hr__system_roots, fault);
    if (!status && now.device != place->volume.device)
        status = hr__fault_about(fault, HR_GONE, place->given, "another drive stands there now than a while ago");
    hr__volume_finish(&now);
    return status;
}

static enum hr_status begin_bag(struct hr_carry *carry, size_t index, size_t place, struct hr_fault *fault)
{
    struct hr_offload_card *card = &carry->offload->cards[index];
    struct hr_delivery *delivery = &card->deliveries[place];
    struct hr_bag_label label = hr__label_of(carry->offload, card);
    if (delivery->bag)
        return hr__interrupted_take_over(card, place, fault);
    const struct hr_offload_place *at = &carry->offload->places[place];
    enum hr_status status = hr_bag_create(&delivery->bag, at->path, &label, fault);
    if (!status && (status = is_on_its_drive(at, delivery->bag, fault))) {
        hr_bag_close(delivery->bag);
        delivery->bag = NULL;
    }
    return status;
}

/* A run that was killed may have lost what it told the ledger last; the bag's journal has it. Of a card like many
 * others the journal may speak of another: what of it is this card's is proven anew, or the ledger knows it. */
static void record_resumed(struct hr_carry *carry, size_t index, const struct hr_delivery *delivery)
{
    size_t count;
    if (hr_card_identity_is_weak(carry->offload->cards[index].card))
        return;
    const struct hr_bag_file *rows = hr_bag_files(delivery->bag, &count);
    for (size_t i = 0; i < count; i++)
        hr__carry_ledger_row(carry, index, &rows[i], delivery->ledger_bag);
    hr__carry_ledger_commit(carry);
}

static void record_bag(struct hr_carry *carry, size_t index, size_t place)
{
    struct hr_offload *offload = carry->offload;
    struct hr_offload_card *card = &carry->offload->cards[index];
    struct hr_fault fault = {0};
    if (offload->ledger && hr__bag_record(&card->deliveries[place].ledger_bag, offload->ledger,
                                          hr_bag_path(card->deliveries[place].bag), hr_card_identity(card->card),
                                          hr_card_name(card->card), card->job, &offload->places[place].volume, &fault))
        hr__carry_ledger_failed(carry, &fault);
    record_resumed(carry, index, &card->deliveries[place]);
    hr_bag_forget_files(card->deliveries[place].bag);
}

static void tell_place_failed(struct hr_carry *carry, size_t index, size_t place, const struct hr_fault *fault)
{
    hr__carry_event(carry,
                    &(struct hr_offload_event){
                        .kind = HR_EVENT_PLACE_FAILED, .card = index, .place = place, .path = "", .text = fault->text});
}

enum hr_status hr__deliveries_begin(struct hr_carry *carry, size_t index, struct hr_fault *fault)
{
    struct hr_offload_card *card = &carry->offload->cards[index];
    for (size_t place = 0; place < carry->job.sink_count; place++) {
        struct hr_delivery *delivery = &card->deliveries[place];
        if (delivery->files_to_copy == 0 && !delivery->bag)
            continue;
        enum hr_status status = begin_bag(carry, index, place, &delivery->fault);
        if (status == HR_NOMEM)
            return hr__fault_nomem(fault, "a bag");
        if (status) {
            tell_place_failed(carry, index, place, &delivery->fault);
            continue;
        }
        record_bag(carry, index, place);
        carry->job_cards[index].landings[place] = (struct hr_transfer_landing){
            .data_path = hr_bag_data_path(delivery->bag), .aside_path = hr_bag_aside_path(delivery->bag)};
    }
    return HR_OK;
}

static bool is_begun(const struct hr_carry *carry, size_t index, size_t place)
{
    return carry->job_cards[index].landings[place].data_path != NULL;
}

/* ---- Items ---- */

/* Bits of the places that want the file. */
static uint8_t want(const struct hr_carry *carry, size_t index, struct hr_transfer_item *item, size_t file)
{
    const struct hr_offload_card *card = &carry->offload->cards[index];
    uint8_t wanted = 0;
    for (size_t place = 0; place < carry->job.sink_count; place++) {
        uint8_t bit = (uint8_t)(1u << place);
        if (card->in_places[file] & bit || !is_begun(carry, index, place))
            continue;
        item->copies[place].state = card->unproven[file] & bit ? HR_COPY_UNPROVEN : HR_COPY_WANTED;
        wanted |= bit;
    }
    return wanted;
}

enum hr_status hr__deliveries_items(struct hr_carry *carry, size_t index, struct hr_fault *fault)
{
    const struct hr_offload_card *card = &carry->offload->cards[index];
    const struct hr_inventory *inventory = card->inventory;
    struct hr_transfer_card *job_card = &carry->job_cards[index];
    uint32_t *frame_left = calloc(inventory->frame_count + 1, sizeof *frame_left);
    carry->cards[index].frame_left = frame_left;
    if (!frame_left)
        return hr__fault_nomem(fault, "the frames to copy");
    job_card->first_item = carry->job.item_count;
    for (size_t i = 0; i < inventory->file_count; i++) {
        struct hr_transfer_item item = {.file = &inventory->files[card->order[i]], .card = (uint8_t)index};
        uint8_t wanted = want(carry, index, &item, card->order[i]);
        if (!wanted)
            continue;
        carry->files[carry->job.item_count].left = wanted;
        frame_left[item.file->frame]++;
        carry->job.items[carry->job.item_count++] = item;
    }
    job_card->item_count = carry->job.item_count - job_card->first_item;
    return HR_OK;
}

/* ---- Ending ---- */

/* Bags are finished side by side, for most stand on drives of their own. All rows of each are in memory meanwhile, so
 * they are few, and of a card of very many files one after the other. */
enum { FINISHED_AT_ONCE = 2, VERY_MANY_FILES = 20000 };

struct ending {
    struct hr_thread thread;
    struct hr_delivery *delivery;
    size_t place;
    enum hr_status status;
};

static void finish_bag(void *argument)
{
    struct ending *ending = argument;
    ending->status = hr_bag_finish(ending->delivery->bag, &ending->delivery->fault);
}

/* What was proven does not stand in the bag any more. Which of it does is for `verify` to say. */
static void forget_bag(struct hr_carry *carry, size_t index, size_t place)
{
    struct hr_offload *offload = carry->offload;
    const struct hr_delivery *delivery = &offload->cards[index].deliveries[place];
    struct hr_known *known = &offload->cards[index].known;
    struct hr_fault fault = {0};
    for (size_t file = 0; file < known->file_count; file++)
        if (offload->cards[index].in_places[file] & 1u << place)
            hr__known_forget(known, file, delivery->drive);
    if (offload->ledger && delivery->ledger_bag &&
        hr_ledger_forget_copies(offload->ledger, delivery->ledger_bag, NULL, &fault))
        hr__carry_ledger_failed(carry, &fault);
}

static void finish_bags(struct hr_carry *carry, size_t index, struct ending *endings, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (hr__thread_start(&endings[i].thread, "bag", finish_bag, &endings[i], NULL) != HR_OK)
            finish_bag(&endings[i]);
    for (size_t i = 0; i < count; i++)
        hr__thread_join(&endings[i].thread);
    for (size_t i = 0; i < count; i++) {
        if (endings[i].status)
            tell_place_failed(carry, index, endings[i].place, &endings[i].delivery->fault);
        if (endings[i].status == HR_NOT_FOUND)
            forget_bag(carry, index, endings[i].place);
    }
}

/* That any bag of the card may hold, of the run before and of this one. */
static size_t most_rows(const struct hr_carry *carry, size_t index)
{
    size_t resumed = 0;
    for (size_t place = 0; place < carry->job.sink_count; place++) {
        size_t here = carry->offload->cards[index].deliveries[place].resumed_files;
        resumed = here > resumed ? here : resumed;
    }
    return resumed + carry->job_cards[index].item_count;
}

/* A card that was pulled before a place had all of it, a run that was stopped, be it after the card was read, and a
 * place that failed may be gone on with; a file that cannot be read after all attempts must not keep the rest from
 * being a bag that proves itself. */
void hr__deliveries_end(struct hr_carry *carry, size_t index)
{
    struct hr_offload_card *card = &carry->offload->cards[index];
    struct ending endings[FINISHED_AT_ONCE];
    size_t count = 0, at_once = most_rows(carry, index) < VERY_MANY_FILES ? FINISHED_AT_ONCE : 1;
    for (size_t place = 0; place < carry->job.sink_count; place++) {
        struct hr_delivery *delivery = &card->deliveries[place];
        if (!is_begun(carry, index, place))
            continue;
        if (carry->sinks[place].status)
            delivery->fault = carry->sinks[place].fault;
        else if (delivery->files_proven == delivery->files_to_copy ||
                 (carry->job_cards[index].status == HR_OK && !hr_cancel_requested(carry->cancel)))
            endings[count++] = (struct ending){.delivery = delivery, .place = place};
        if (count == at_once) {
            finish_bags(carry, index, endings, count);
            count = 0;
        }
    }
    finish_bags(carry, index, endings, count);
}
