/* SPDX-License-Identifier: ISC */
/* What is verified by a moment: the files in the order in which they will be read, and how many of them fit. */
#include <stdlib.h>

#include "base/fault.h"
#include "offload/carry.h"

/* A card as its files are drawn from it. Those of one link begin when the one before has ended. */
struct lane {
    size_t next;     /* index into the card's order */
    double begins_s; /* its next file */
};

struct list {
    const struct hr_offload *offload;
    struct lane lanes[HR_CARDS_MAX];
    uint64_t *bytes;
    uint8_t *card_of;
    uint32_t *file_of;
    size_t count;
};

static size_t skip_known(const struct hr_offload *offload, size_t index, size_t next)
{
    const struct hr_offload_card *card = &offload->cards[index];
    uint8_t everywhere = (uint8_t)((1u << offload->options.place_count) - 1);
    while (next < card->inventory->file_count && card->in_places[card->order[next]] == everywhere)
        next++;
    return next;
}

static bool is_read_after(const struct hr_offload *offload, size_t card, size_t earlier)
{
    return offload->cards_at_once == 1 || offload->cards[earlier].link == offload->cards[card].link;
}

static void start_lanes(struct list *list)
{
    const struct hr_forecast_job *job = &list->offload->foreseen.job;
    for (size_t i = 0; i < job->card_count; i++) {
        list->lanes[i].next = skip_known(list->offload, i, 0);
        for (size_t earlier = 0; earlier < i; earlier++)
            if (is_read_after(list->offload, i, earlier))
                list->lanes[i].begins_s +=
                    hr_speed_seconds(&job->cards[earlier].read, job->cards[earlier].files, job->cards[earlier].bytes);
    }
}

/* The card whose next file is read first; SIZE_MAX: none is left. */
static size_t first_lane(const struct list *list)
{
    size_t found = SIZE_MAX;
    for (size_t i = 0; i < list->offload->card_count; i++)
        if (list->lanes[i].next < list->offload->cards[i].inventory->file_count &&
            (found == SIZE_MAX || list->lanes[i].begins_s < list->lanes[found].begins_s))
            found = i;
    return found;
}

static void draw_files(struct list *list)
{
    size_t from;
    start_lanes(list);
    while ((from = first_lane(list)) != SIZE_MAX) {
        const struct hr_offload_card *card = &list->offload->cards[from];
        struct lane *lane = &list->lanes[from];
        uint32_t file = card->order[lane->next];
        uint64_t size = card->inventory->files[file].size_bytes;
        list->bytes[list->count] = size;
        list->card_of[list->count] = (uint8_t)from;
        list->file_of[list->count++] = file;
        lane->begins_s += hr_speed_seconds(&list->offload->foreseen.job.cards[from].read, 1, (double)size);
        lane->next = skip_known(list->offload, from, lane->next + 1);
    }
}

/* Of one card, frames of which no wanted file lies behind the first `fits` of the list. */
static enum hr_status count_frames(size_t *frames, const struct list *list, size_t card, size_t fits,
                                   struct hr_fault *fault)
{
    const struct hr_inventory *inventory = list->offload->cards[card].inventory;
    enum { BEGUN = 1, CUT = 2 };
    uint8_t *seen = calloc(inventory->frame_count + 1, 1);
    if (!seen)
        return hr__fault_nomem(fault, "a forecast");
    for (size_t i = 0; i < list->count; i++)
        if (list->card_of[i] == card)
            seen[inventory->files[list->file_of[i]].frame] |= i < fits ? BEGUN : CUT;
    for (size_t i = 0; i < inventory->frame_count; i++)
        *frames += seen[i] == BEGUN && hr__frame_is_camera(inventory, i);
    free(seen);
    return HR_OK;
}

static enum hr_status make_list(struct list *list, struct hr_fault *fault)
{
    size_t room = list->offload->plan.files_to_copy + 1;
    list->bytes = calloc(room, sizeof *list->bytes);
    list->card_of = calloc(room, sizeof *list->card_of);
    list->file_of = calloc(room, sizeof *list->file_of);
    if (!list->bytes || !list->card_of || !list->file_of)
        return hr__fault_nomem(fault, "a forecast");
    draw_files(list);
    return HR_OK;
}

static void name_last(struct hr_fits *fits, const struct list *list)
{
    if (fits->files == 0)
        return;
    size_t last = fits->files - 1;
    const struct hr_inventory *inventory = list->offload->cards[list->card_of[last]].inventory;
    fits->last_path = inventory->files[list->file_of[last]].path;
    fits->last_modified_ns = inventory->files[list->file_of[last]].modified_ns;
}

enum hr_status hr_offload_fits(struct hr_fits *out, const struct hr_offload *offload, double seconds,
                               struct hr_fault *fault)
{
    const struct hr_foreseen *foreseen = &offload->foreseen;
    struct list list = {.offload = offload};
    struct hr_fits fits = {0};
    enum hr_status status = HR_OK;
    if (foreseen->forecast.verified_s > 0)
        status = make_list(&list, fault);
    if (!status && list.count > 0)
        fits.files = hr_forecast_fits(&foreseen->job, list.bytes, list.card_of, list.count, seconds,
                                      foreseen->verified.high_s / foreseen->forecast.verified_s);
    for (size_t i = 0; i < fits.files; i++)
        fits.bytes += list.bytes[i];
    name_last(&fits, &list);
    for (size_t i = 0; i < offload->card_count && !status; i++)
        status = count_frames(&fits.frames, &list, i, fits.files, fault);
    free(list.bytes);
    free(list.card_of);
    free(list.file_of);
    if (!status)
        *out = fits;
    return status;
}
