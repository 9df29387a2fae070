/* SPDX-License-Identifier: ISC */
/* What the engine tells while cards are carried: written into the bags and the ledger, counted, told on. */
#include <string.h>

#include "base/fault.h"
#include "base/units.h"
#include "card/kind.h"
#include "offload/carry.h"
#include "platform/clock.h"

void hr__carry_event(struct hr_carry *carry, const struct hr_offload_event *event)
{
    struct hr_offload_event told = *event;
    told.elapsed_ns = hr__clock_now_ns() - carry->offload->started_ns;
    if (carry->observer->event)
        carry->observer->event(carry->observer->context, &told);
}

void hr__carry_note(struct hr_carry *carry, size_t card, const char *text)
{
    hr__carry_event(carry, &(struct hr_offload_event){
                               .kind = HR_EVENT_NOTE, .card = card, .place = SIZE_MAX, .path = "", .text = text});
}

static void tell_card(struct hr_carry *carry, size_t card, enum hr_offload_event_kind kind)
{
    hr__carry_event(carry,
                    &(struct hr_offload_event){.kind = kind, .card = card, .place = SIZE_MAX, .path = "", .text = ""});
}

/* ---- The ledger ---- */

void hr__carry_ledger_failed(struct hr_carry *carry, const struct hr_fault *fault)
{
    hr_ledger_close(carry->offload->ledger);
    carry->offload->ledger = NULL;
    carry->committed_ns = 0;
    hr__carry_note(carry, SIZE_MAX, fault->text);
    hr__carry_note(carry, SIZE_MAX,
                   "The ledger is not used any further: the copies do not depend on it. Run `headrace verify` on the "
                   "places to fill it later.");
}

void hr__carry_ledger_commit(struct hr_carry *carry)
{
    struct hr_fault fault = {0};
    if (carry->offload->ledger && carry->committed_ns && hr_ledger_commit(carry->offload->ledger, &fault))
        hr__carry_ledger_failed(carry, &fault);
    carry->committed_ns = 0;
}

bool hr__carry_ledger_step(struct hr_carry *carry)
{
    struct hr_fault fault = {0};
    if (!carry->offload->ledger)
        return false;
    if (carry->committed_ns)
        return true;
    if (hr_ledger_begin(carry->offload->ledger, &fault)) {
        hr__carry_ledger_failed(carry, &fault);
        return false;
    }
    carry->committed_ns = hr__clock_now_ns();
    return true;
}

void hr__carry_ledger_row(struct hr_carry *carry, size_t card, const struct hr_bag_file *row, int64_t bag)
{
    struct hr_fault fault = {0};
    if (bag == 0 || !hr__carry_ledger_step(carry))
        return;
    struct hr_ledger_file file = {.card_identity = hr_card_identity(carry->offload->cards[card].card),
                                  .path = row->path,
                                  .size_bytes = row->size_bytes,
                                  .modified_ns = row->modified_ns,
                                  .xxh128 = row->xxh128,
                                  .sha256 = row->sha256};
    struct hr_ledger_copy copy = {.bag = bag, .proof = row->proof, .proven_at_ns = row->proven_at_ns};
    if (hr_ledger_add_copy(carry->offload->ledger, &file, &copy, &fault))
        hr__carry_ledger_failed(carry, &fault);
}

/* ---- Copies ---- */

bool hr__frame_is_camera(const struct hr_inventory *inventory, size_t frame)
{
    const struct hr_card_frame *wanted = &inventory->frames[frame];
    for (uint32_t i = 0; i < wanted->file_count; i++)
        if (hr__kind_is_picture((enum hr_card_file_kind)inventory->files[wanted->first_file + i].kind))
            return true;
    return false;
}

static uint8_t working_places(const struct hr_carry *carry)
{
    uint8_t working = 0;
    for (size_t i = 0; i < carry->job.sink_count; i++)
        if (carry->job.sinks[i].status == HR_OK)
            working |= (uint8_t)(1u << i);
    return working;
}

/* Done: proven in every place that still works. It is counted once, whatever places fail or prove it later. */
static void count_if_done(struct hr_carry *carry, size_t item)
{
    const struct hr_transfer_item *copied = &carry->job.items[item];
    const struct hr_inventory *inventory = carry->offload->cards[copied->card].inventory;
    struct hr_carry_file *file = &carry->files[item];
    uint32_t frame = copied->file->frame;
    if (file->is_done || !file->is_proven || file->left & working_places(carry))
        return;
    file->is_done = true;
    carry->now.files_done++;
    carry->now.done_bytes += copied->file->size_bytes;
    if (--carry->cards[copied->card].frame_left[frame] == 0 && hr__frame_is_camera(inventory, frame))
        carry->now.frames_done++;
}

static void count_proven(struct hr_carry *carry, size_t item, size_t place)
{
    carry->files[item].left &= (uint8_t) ~(1u << place);
    carry->files[item].is_proven = true;
    count_if_done(carry, item);
}

/* Files that waited for the place alone are done. */
static void count_without_failed(struct hr_carry *carry)
{
    for (size_t i = 0; i < carry->job.item_count; i++)
        count_if_done(carry, i);
}

/* The card was read twice, for one drive now and for another in a run before, and did not say the same. Which reading
 * is right only a third can tell, so nothing is thrown away, and one drive counts. */
static void tell_other_reading(struct hr_carry *carry, size_t card, const char *path)
{
    struct hr_fault fault = {0};
    (void)hr__fault_about(&fault, HR_DIFFERS, path,
                          "the card gives other bytes now than when it was copied before: the copies made before do "
                          "not count; run this again, by another reader, cable or port");
    hr__carry_note(carry, card, fault.text);
}

static void note_proven(struct hr_carry *carry, size_t item_index, size_t place)
{
    const struct hr_transfer_item *item = &carry->job.items[item_index];
    struct hr_offload_card *card = &carry->offload->cards[item->card];
    size_t file = (size_t)(item->file - card->inventory->files);
    struct hr_delivery *delivery = &card->deliveries[place];
    struct hr_fault fault = {0};
    struct hr_bag_file row = {.path = item->file->path,
                              .size_bytes = item->file->size_bytes,
                              .modified_ns = item->file->modified_ns,
                              .xxh128 = item->xxh128,
                              .sha256 = item->sha256,
                              .read_at_ns = item->read_at_ns,
                              .proven_at_ns = hr__clock_wall_ns(),
                              .proof = (enum hr_proof)item->copies[place].proof};
    if (hr_bag_record(delivery->bag, &row, &fault)) {
        hr__carry_note(carry, item->card, fault.text); /* the file stands; a re-run finds it without its row */
        return;
    }
    hr__carry_ledger_row(carry, item->card, &row, delivery->ledger_bag);
    if (!hr__known_note(&card->known, file, delivery->drive, &row.xxh128, row.proof, row.proven_at_ns)) {
        card->in_places[file] = 0;
        card->gave_other_bytes = true;
        tell_other_reading(carry, item->card, row.path);
    }
    card->in_places[file] |= (uint8_t)(1u << place);
    delivery->files_proven++;
    delivery->bytes_proven += row.size_bytes;
    delivery->proofs[row.proof]++;
    count_proven(carry, item_index, place);
    hr__carry_event(carry, &(struct hr_offload_event){.kind = HR_EVENT_FILE_PROVEN,
                                                      .card = item->card,
                                                      .place = place,
                                                      .path = row.path,
                                                      .size_bytes = row.size_bytes,
                                                      .proof = row.proof,
                                                      .xxh128 = &item->xxh128,
                                                      .text = ""});
}

static void note_failed(struct hr_carry *carry, const struct hr_transfer_item *item, size_t place, const char *text)
{
    carry->now.failures++;
    hr__carry_event(carry, &(struct hr_offload_event){.kind = HR_EVENT_FILE_FAILED,
                                                      .card = item->card,
                                                      .place = place,
                                                      .path = item->file->path,
                                                      .size_bytes = item->file->size_bytes,
                                                      .text = text});
}

static void copy_settled(void *context, size_t item, size_t place)
{
    struct hr_carry *carry = context;
    const struct hr_transfer_item *settled = &carry->job.items[item];
    if (settled->copies[place].state == HR_COPY_PROVEN) {
        note_proven(carry, item, place);
        return;
    }
    carry->offload->cards[settled->card].deliveries[place].files_failed++;
    note_failed(carry, settled, place, "not copied after several attempts");
}

static void complain(void *context, size_t item, size_t place, const struct hr_fault *fault)
{
    struct hr_carry *carry = context;
    if (place != SIZE_MAX && item == SIZE_MAX) {
        count_without_failed(carry);
        hr__carry_event(
            carry,
            &(struct hr_offload_event){
                .kind = HR_EVENT_PLACE_FAILED, .card = SIZE_MAX, .place = place, .path = "", .text = fault->text});
    } else {
        hr__carry_note(carry, item == SIZE_MAX ? SIZE_MAX : carry->job.items[item].card, fault->text);
    }
}

/* ---- Cards ---- */

static void card_started(void *context, size_t card)
{
    struct hr_carry *carry = context;
    carry->cards[card].is_under_way = true;
    tell_card(carry, card, HR_EVENT_CARD_STARTED);
}

static void card_free(void *context, size_t card)
{
    struct hr_carry *carry = context;
    if (carry->offload->plan_cards[card].files_to_copy > 0 && carry->job_cards[card].item_count == 0)
        return; /* no place would take its bag */
    carry->copied_ns = hr__clock_now_ns() - carry->offload->started_ns;
    tell_card(context, card, HR_EVENT_CARD_FREE);
}

static void card_needed(void *context, size_t card)
{
    tell_card(context, card, HR_EVENT_CARD_NEEDED);
}

/* Files that could not be read from the card at all have no copy to be told of. */
static void tell_unread(struct hr_carry *carry, size_t card)
{
    const struct hr_transfer_card *from = &carry->job_cards[card];
    for (size_t i = from->first_item; i < from->first_item + from->item_count; i++) {
        const struct hr_transfer_item *item = &carry->job.items[i];
        if (item->status != HR_OK && item->status != HR_CANCELLED && item->status != HR_GONE)
            note_failed(carry, item, SIZE_MAX, hr_status_name((enum hr_status)item->status));
    }
}

/* What the ledger was told becomes durable before the bag says that it is complete. */
static void card_settled(void *context, size_t card)
{
    struct hr_carry *carry = context;
    hr__carry_last_row(carry, card);
    hr__carry_ledger_commit(carry);
    carry->offload->cards[card].was_pulled = carry->job_cards[card].status == HR_GONE;
    hr__deliveries_end(carry, card);
    tell_unread(carry, card);
    carry->cards[card].is_under_way = false;
    carry->cards[card].is_done = true;
    tell_card(carry, card, HR_EVENT_CARD_FINISHED);
}

const struct hr_transfer_observer hr__carry_observer = {.card_started = card_started,
                                                        .card_free = card_free,
                                                        .card_needed = card_needed,
                                                        .card_settled = card_settled,
                                                        .item_read = hr__carry_item_read,
                                                        .copy_settled = copy_settled,
                                                        .complain = complain,
                                                        .progress = hr__carry_progress};
