/* SPDX-License-Identifier: ISC */
/* What need not be copied: what the ledger holds as proven in the places, and what an interrupted run left there. */
#include "base/fault.h"
#include "offload/bag_record.h"
#include "offload/offload_state.h"

/* The ledger is a memory: without it everything is copied, which is never wrong. */
static enum hr_status open_ledger(struct hr_ledger **ledger, struct hr_offload *offload)
{
    struct hr_fault cause = {0};
    enum hr_status status = hr_ledger_open_read_only(ledger, offload->options.ledger_path, &cause);
    if (status == HR_OK || status == HR_NOT_FOUND)
        return HR_OK;
    return hr__say(&offload->warnings, "The ledger cannot be read (%s): what it knew is copied again.", cause.text);
}

static enum hr_status look_up_card(struct hr_offload *offload, struct hr_offload_card *card, struct hr_ledger *ledger,
                                   const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_known_place places[HR_PLACES_MAX];
    struct hr_look_up look_up = {.ledger = ledger,
                                 .card = card->card,
                                 .inventory = card->inventory,
                                 .places = places,
                                 .place_count = offload->options.place_count,
                                 .in_places = card->in_places,
                                 .look = &offload->options.look,
                                 .cancel = cancel};
    for (size_t i = 0; i < look_up.place_count; i++) {
        const struct hr_offload_place *place = &offload->places[i];
        places[i] = (struct hr_known_place){.volume = "", .mount_point = "", .path_on_volume = ""};
        if (place->has_volume)
            places[i] = (struct hr_known_place){.volume = place->volume.identity,
                                                .mount_point = place->volume.mount_point,
                                                .path_on_volume = hr__path_on_volume(&place->volume, place->path)};
    }
    return hr__known_look_up(&card->known, &look_up, fault);
}

/* ---- Interrupted runs ---- */

struct hr_bag_label hr__label_of(const struct hr_offload *offload, const struct hr_offload_card *card)
{
    return (struct hr_bag_label){.job = card->job,
                                 .card_name = hr_card_name(card->card),
                                 .card_identity = hr_card_identity(card->card),
                                 .description = "",
                                 .started_wall_ns = offload->started_wall_ns};
}

/* The interrupted bag is gone on with when every file it holds is still that file on the card. */
static bool agrees_with_card(const struct hr_offload_card *card, const struct hr_bag *bag)
{
    size_t recorded_count, found = 0;
    hr_bag_files(bag, &recorded_count);
    for (size_t i = 0; i < card->inventory->file_count; i++) {
        const struct hr_card_file *file = &card->inventory->files[i];
        const struct hr_bag_file *recorded = hr_bag_find(bag, file->path);
        if (recorded && (recorded->size_bytes != file->size_bytes || recorded->modified_ns != file->modified_ns))
            return false;
        found += recorded != NULL;
    }
    return found == recorded_count;
}

static void note_recorded(struct hr_offload_card *card, size_t place)
{
    const struct hr_delivery *delivery = &card->deliveries[place];
    for (size_t i = 0; i < card->inventory->file_count; i++) {
        const struct hr_bag_file *recorded = hr_bag_find(delivery->bag, card->inventory->files[i].path);
        if (!recorded)
            continue;
        card->in_places[i] |= (uint8_t)(1u << place);
        hr__known_note(&card->known, i, delivery->drive, recorded->proof, recorded->proven_at_ns);
    }
}

static enum hr_status look_at_delivery(struct hr_offload *offload, struct hr_offload_card *card, size_t place,
                                       struct hr_fault *fault)
{
    struct hr_delivery *delivery = &card->deliveries[place];
    struct hr_bag_label label = hr__label_of(offload, card);
    struct hr_fault cause = {0};
    enum hr_status status = hr__drives_number(&delivery->drive, &card->known.drives, offload->places[place].disks,
                                              offload->places[place].volume.mount_point, fault);
    if (status)
        return status;
    card->known.drives.drives[delivery->drive].is_connected = true;
    if (card->inventory->file_count == 0 || !hr__job_is_fit(card->job))
        return HR_OK; /* preflight says so; there is nothing to go on with */
    status = hr_bag_look(&delivery->bag, offload->places[place].path, &label, &cause);
    if (status == HR_BUSY)
        return hr__say(&offload->refusals, "Another run is copying this card to %s: wait for it, or stop it.",
                       offload->places[place].given);
    if (status == HR_NOMEM)
        return hr__fault_nomem(fault, "an interrupted bag");
    if (status && status != HR_NOT_FOUND)
        return hr__say(&offload->warnings, "An interrupted run in %s cannot be gone on with (%s): a new bag is begun.",
                       offload->places[place].given, cause.text);
    if (!status && agrees_with_card(card, delivery->bag)) {
        note_recorded(card, place);
        hr_bag_files(delivery->bag, &delivery->resumed_files);
        hr_bag_forget_files(delivery->bag); /* so that no more than one place's rows are ever in memory */
    } else {
        hr_bag_close(delivery->bag);
        delivery->bag = NULL;
    }
    return HR_OK;
}

static void count_wanted(struct hr_offload_card *card, size_t place)
{
    struct hr_delivery *delivery = &card->deliveries[place];
    for (size_t i = 0; i < card->inventory->file_count; i++)
        if (!(card->in_places[i] & (1u << place))) {
            delivery->files_to_copy++;
            delivery->bytes_to_copy += card->inventory->files[i].size_bytes;
        }
}

enum hr_status hr__prepare_known(struct hr_offload *offload, const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    enum hr_status status = open_ledger(&ledger, offload);
    for (size_t c = 0; c < offload->card_count && !status; c++) {
        struct hr_offload_card *card = &offload->cards[c];
        if (ledger)
            status = look_up_card(offload, card, ledger, cancel, fault);
        for (size_t p = 0; p < offload->options.place_count && !status; p++) {
            if (offload->places[p].has_volume)
                status = look_at_delivery(offload, card, p, fault);
            count_wanted(card, p);
        }
    }
    hr_ledger_close(ledger);
    return status;
}
