/* SPDX-License-Identifier: ISC */
/* What need not be copied: what the ledger holds as proven in the places, and what an interrupted run left there. */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "offload/bag_record.h"
#include "offload/interrupted.h"
#include "offload/offload_state.h"

/* The ledger is a memory: without it everything is copied, which is never wrong. */
static enum hr_status do_without(struct hr_offload *offload, const struct hr_fault *cause)
{
    return hr__say(&offload->warnings, "The ledger cannot be read (%s): what it knew is copied again.", cause->text);
}

static enum hr_status open_ledger(struct hr_ledger **ledger, struct hr_offload *offload)
{
    struct hr_fault cause = {0};
    enum hr_status status = hr_ledger_open_read_only(ledger, offload->options.ledger_path, &cause);
    if (status == HR_OK || status == HR_NOT_FOUND)
        return HR_OK;
    return do_without(offload, &cause);
}

/* *length: of the beginning of `path`, past what is mounted now, at which a drive was mounted once; 0: at none. */
static enum hr_status find_old_mount_point(size_t *length, struct hr_ledger *ledger, const char *path,
                                           const char *mounted_now, struct hr_fault *fault)
{
    char *above = strdup(path);
    enum hr_status status = above ? HR_OK : hr__fault_nomem(fault, "a place");
    bool is_known = false;
    for (*length = strlen(path); !status && !is_known && *length > strlen(mounted_now);) {
        above[*length] = '\0';
        status = hr_ledger_knows_mount_point(&is_known, ledger, above, NULL);
        *length = is_known ? *length : hr__path_folder_length(above);
    }
    *length = is_known ? *length : 0;
    free(above);
    return status == HR_NOMEM ? status : HR_OK; /* what ails the ledger is said when the cards are looked up */
}

/* A folder that a drive is mounted on stays when the drive is not plugged in, and copies go to the disk below. */
static enum hr_status warn_of_missing_drives(struct hr_offload *offload, struct hr_ledger *ledger,
                                             struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < offload->options.place_count && !status; i++) {
        const struct hr_offload_place *place = &offload->places[i];
        size_t length = 0;
        if (place->has_volume)
            status = find_old_mount_point(&length, ledger, place->path, place->volume.mount_point, fault);
        if (!status && length > 0)
            status = hr__say(&offload->warnings,
                             "A drive was mounted at %.*s before, and none is now: is it plugged in? Place %s is on "
                             "the drive of %s.",
                             (int)length, place->path, place->given, place->volume.mount_point);
    }
    return status;
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
            places[i] = (struct hr_known_place){.volume = place->volume.place_identity,
                                                .mount_point = place->volume.mount_point,
                                                .path_on_volume = hr__path_on_volume(&place->volume, place->path)};
    }
    return hr__known_look_up(&card->known, &look_up, fault);
}

static enum hr_status forget(struct hr_offload_card *card, struct hr_fault *fault)
{
    size_t count = card->inventory->file_count;
    memset(card->in_places, 0, count * sizeof *card->in_places);
    hr__known_finish(&card->known);
    return hr__known_init(&card->known, count, fault);
}

/* Of a ledger that fails midway nothing is believed, and it is not asked again: *ledger is then closed, and NULL. */
static enum hr_status ask_ledger(struct hr_ledger **ledger, struct hr_offload *offload, struct hr_offload_card *card,
                                 const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_fault cause = {0};
    enum hr_status status = look_up_card(offload, card, *ledger, cancel, &cause);
    if (status == HR_OK)
        return HR_OK;
    if (status == HR_CANCELLED || status == HR_GONE || status == HR_NOMEM)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    hr_ledger_close(*ledger);
    *ledger = NULL;
    status = do_without(offload, &cause);
    return status ? status : forget(card, fault);
}

struct hr_bag_label hr__label_of(const struct hr_offload *offload, const struct hr_offload_card *card)
{
    return (struct hr_bag_label){.job = card->job,
                                 .card_name = hr_card_name(card->card),
                                 .card_identity = hr_card_identity(card->card),
                                 .description = "",
                                 .started_wall_ns = offload->started_wall_ns};
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
    if (ledger && !status)
        status = warn_of_missing_drives(offload, ledger, fault);
    for (size_t c = 0; c < offload->card_count && !status; c++) {
        struct hr_offload_card *card = &offload->cards[c];
        if (ledger)
            status = ask_ledger(&ledger, offload, card, cancel, fault);
        for (size_t p = 0; p < offload->options.place_count && !status; p++) {
            if (offload->places[p].has_volume)
                status = hr__interrupted_look(offload, card, p, fault);
            count_wanted(card, p);
        }
    }
    hr_ledger_close(ledger);
    return status;
}
