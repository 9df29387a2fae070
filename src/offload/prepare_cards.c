/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/units.h"
#include "offload/offload_state.h"
#include "platform/apart.h"
#include "platform/clock.h"

/* Not every first file is a picture with a time in it, but one of the first few is, or none. */
enum { FRAMES_ASKED_FOR_DATE = 8 };

static bool wants(const struct hr_offload_options *options, enum hr_first key)
{
    for (size_t i = 0; i < options->first_count; i++)
        if (options->first[i] == key)
            return true;
    return false;
}

static void name_by_day(struct hr_offload_card *card, struct hr_civil day)
{
    snprintf(card->job, sizeof card->job, "%04d-%02d-%02d", day.year, day.month, day.day);
}

/* The day of the first frame on the camera's own clock; where no frame says, the day its file was written. */
static void name_job_by_date(struct hr_offload_card *card)
{
    const struct hr_inventory *inventory = card->inventory;
    struct hr_media_facts facts;
    for (size_t i = 0; i < inventory->frame_count && i < FRAMES_ASKED_FOR_DATE; i++) {
        const struct hr_card_file *file = &inventory->files[inventory->frames[i].first_file];
        if (hr_card_file_media(&facts, card->card, file, NULL) == HR_OK && facts.has_time) {
            name_by_day(card, hr__clock_civil_utc(facts.local_time_s * HR_NS_PER_S));
            return;
        }
    }
    if (inventory->file_count > 0)
        name_by_day(card, hr__clock_civil(inventory->files[0].modified_ns));
}

struct rating {
    const struct hr_look_observer *look;
    struct hr_look_progress told;
    int64_t began_ns;
};

static void tell_ratings(void *context, size_t files_done, size_t files_total)
{
    struct rating *rating = context;
    int64_t elapsed_ns = hr__clock_now_ns() - rating->began_ns;
    if (elapsed_ns - rating->told.elapsed_ns < HR_NS_PER_S / 10)
        return;
    rating->told.elapsed_ns = elapsed_ns;
    rating->told.files_done = files_done;
    rating->told.files_total = files_total;
    rating->look->progress(rating->look->context, &rating->told);
}

static enum hr_status read_ratings(struct hr_offload_card *card, const struct hr_look_observer *look,
                                   const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct rating rating = {.look = look,
                            .told = {.card = hr_card_path(card->card), .purpose = HR_LOOK_RATINGS},
                            .began_ns = hr__clock_now_ns()};
    const struct hr_ratings_observer observer = {.context = &rating, .progress = look->progress ? tell_ratings : NULL};
    return hr_inventory_read_ratings(card->inventory, card->card, &observer, cancel, fault);
}

static enum hr_status look_at_card(struct hr_offload *offload, struct hr_offload_card *card, const char *path,
                                   const struct hr_cancel *cancel, struct hr_fault *fault)
{
    const struct hr_offload_options *options = &offload->options;
    enum hr_status status = hr_card_open(&card->card, path, fault);
    if (!status)
        card->has_volume =
            hr__volume_of(&card->volume, hr_card_resolved_path(card->card), &hr__system_roots, NULL) == HR_OK;
    if (!status && !(card->disks = hr__disks_text(&card->volume)))
        status = hr__fault_nomem(fault, "a card's disks");
    if (!status)
        status = hr_inventory_create(&card->inventory, card->card, cancel, fault);
    if (!status && wants(options, HR_FIRST_RATED))
        status = read_ratings(card, &options->look, cancel, fault);
    if (!status)
        status =
            hr_inventory_order(&card->order, card->inventory, card->card, options->first, options->first_count, fault);
    if (status)
        return status;
    size_t files = card->inventory->file_count;
    card->in_places = calloc(files + 1, 1);
    card->unproven = calloc(files + 1, 1);
    if (!card->in_places || !card->unproven)
        return hr__fault_nomem(fault, "a card's files");
    if (options->job)
        snprintf(card->job, sizeof card->job, "%s", options->job);
    else
        name_job_by_date(card);
    return hr__known_init(&card->known, files, fault);
}

/* The number of the first card that is reached through the same link: of those one is read at a time. */
static void find_links(struct hr_offload *offload)
{
    for (size_t i = 0; i < offload->card_count; i++) {
        struct hr_offload_card *card = &offload->cards[i];
        card->link = (unsigned)i;
        for (size_t earlier = i; card->has_volume && earlier-- > 0;)
            if (offload->cards[earlier].has_volume &&
                hr__volume_shares_link(&offload->cards[earlier].volume, &card->volume))
                card->link = offload->cards[earlier].link;
    }
}

/* Two files written at once make a disk with heads travel between them. */
static size_t cards_at_once(const struct hr_offload *offload)
{
    if (offload->options.cards_at_once)
        return offload->options.cards_at_once;
    for (size_t i = 0; i < offload->options.place_count; i++)
        if (hr__volume_has_heads(&offload->places[i].volume))
            return 1;
    return HR_CARDS_MAX;
}

enum hr_status hr__prepare_cards(struct hr_offload *offload, const struct hr_cancel *cancel, struct hr_fault *fault)
{
    for (size_t i = 0; i < offload->options.card_count; i++) {
        struct hr_fault cause = {0};
        const char *path = offload->options.cards[i];
        struct hr_offload_card *card = &offload->cards[offload->card_count];
        enum hr_status status = look_at_card(offload, card, path, cancel, &cause);
        if (status == HR_OK) {
            offload->card_count++;
            continue;
        }
        hr__offload_card_finish(card); /* the next one takes its room */
        if (status == HR_CANCELLED || status == HR_NOMEM)
            return hr__fault_set(fault, status, 0, "%s", cause.text);
        status = hr__say(&offload->refusals, "Card %s cannot be read: %s.", path, cause.text);
        if (status)
            return status;
    }
    find_links(offload);
    offload->cards_at_once = cards_at_once(offload);
    return HR_OK;
}
