/* SPDX-License-Identifier: ISC */
/* What is verified by a moment: the files in the order in which they will be read, and how many of them fit. */
#include <stdlib.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/units.h"
#include "offload/carry.h"

enum { SEQUENCES_MAX = 1 << 24 };

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
                list->lanes[i].begins_s += hr_forecast_card_seconds(&job->cards[earlier]);
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
        struct hr_forecast_card alone = list->offload->foreseen.job.cards[from];
        alone.files = 1;
        alone.bytes = (double)size;
        lane->begins_s += hr_forecast_card_seconds(&alone);
        lane->next = skip_known(list->offload, from, lane->next + 1);
    }
}

enum { BEGUN = 1, CUT = 2 };

/* Of one card, by frame: has it wanted files among the first `fits` of the list, and behind them? The caller frees. */
static uint8_t *mark_frames(const struct list *list, size_t card, size_t fits)
{
    const struct hr_inventory *inventory = list->offload->cards[card].inventory;
    uint8_t *marks = calloc(inventory->frame_count + 1, 1);
    for (size_t i = 0; marks && i < list->count; i++)
        if (list->card_of[i] == card)
            marks[inventory->files[list->file_of[i]].frame] |= i < fits ? BEGUN : CUT;
    return marks;
}

static enum hr_status count_frames(size_t *frames, const struct list *list, size_t card, size_t fits,
                                   struct hr_fault *fault)
{
    const struct hr_inventory *inventory = list->offload->cards[card].inventory;
    uint8_t *marks = mark_frames(list, card, fits);
    if (!marks)
        return hr__fault_nomem(fault, "a forecast");
    for (size_t i = 0; i < inventory->frame_count; i++)
        *frames += marks[i] == BEGUN && hr__frame_is_camera(inventory, i);
    free(marks);
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

/* How many files of the list, which is made here, are verified then. */
static enum hr_status fit(size_t *files, struct list *list, double seconds, struct hr_fault *fault)
{
    const struct hr_foreseen *foreseen = &list->offload->foreseen;
    enum hr_status status = HR_OK;
    *files = 0;
    if (foreseen->forecast.verified_s > 0)
        status = make_list(list, fault);
    if (!status && list->count > 0)
        *files = hr_forecast_fits(&foreseen->job, list->bytes, list->card_of, list->count, seconds,
                                  foreseen->verified.high_s / foreseen->forecast.verified_s);
    return status;
}

static void finish_list(struct list *list)
{
    free(list->bytes);
    free(list->card_of);
    free(list->file_of);
}

enum hr_status hr_offload_fits(struct hr_fits *out, const struct hr_offload *offload, double seconds,
                               struct hr_fault *fault)
{
    struct list list = {.offload = offload};
    struct hr_fits fits = {0};
    enum hr_status status = fit(&fits.files, &list, seconds, fault);
    for (size_t i = 0; i < fits.files; i++)
        fits.bytes += list.bytes[i];
    name_last(&fits, &list);
    for (size_t i = 0; i < offload->card_count && !status; i++)
        status = count_frames(&fits.frames, &list, i, fits.files, fault);
    finish_list(&list);
    if (!status)
        *out = fits;
    return status;
}

/* ---- By sequences ---- */

/* As hr_grouping_create has it where nothing else is asked for. */
static const int64_t gap_ns = 4 * HR_NS_PER_S;

struct timed_frame {
    int64_t at_ns;
    bool is_by_then;
};

struct sequences {
    struct hr_fits_sequence *rows;
    size_t count, capacity;
};

static int by_time(const void *a, const void *b)
{
    int64_t one = ((const struct timed_frame *)a)->at_ns, other = ((const struct timed_frame *)b)->at_ns;
    return (one > other) - (one < other);
}

/* A frame by itself is no sequence; the next one's row takes its place. */
static void drop_single(struct sequences *sequences)
{
    if (sequences->count > 0 && sequences->rows[sequences->count - 1].frames == 1)
        sequences->count--;
}

/* Frames by time. False: no memory. */
static bool group(struct sequences *sequences, size_t card, const struct timed_frame *frames, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        bool goes_on = i > 0 && frames[i].at_ns - frames[i - 1].at_ns <= gap_ns;
        if (!goes_on) {
            drop_single(sequences);
            if (!hr__array_reserve(&sequences->rows, &sequences->capacity, sequences->count + 1,
                                   sizeof *sequences->rows, SEQUENCES_MAX))
                return false;
            sequences->rows[sequences->count++] = (struct hr_fits_sequence){.card = card, .start_ns = frames[i].at_ns};
        }
        struct hr_fits_sequence *row = &sequences->rows[sequences->count - 1];
        row->end_ns = frames[i].at_ns;
        row->frames++;
        row->frames_by_then += frames[i].is_by_then;
    }
    drop_single(sequences);
    return true;
}

static enum hr_status group_card(struct sequences *sequences, const struct list *list, size_t card, size_t fits,
                                 struct hr_fault *fault)
{
    const struct hr_inventory *inventory = list->offload->cards[card].inventory;
    uint8_t *marks = mark_frames(list, card, fits);
    struct timed_frame *frames = calloc(inventory->frame_count + 1, sizeof *frames);
    bool has_room = marks && frames;
    size_t count = 0;
    for (size_t i = 0; i < inventory->frame_count && has_room; i++)
        if (hr__frame_is_camera(inventory, i))
            frames[count++] =
                (struct timed_frame){inventory->files[inventory->frames[i].first_file].modified_ns, !(marks[i] & CUT)};
    if (has_room && count > 0) {
        qsort(frames, count, sizeof *frames, by_time);
        has_room = group(sequences, card, frames, count);
    }
    free(frames);
    free(marks);
    return has_room ? HR_OK : hr__fault_nomem(fault, "a forecast");
}

enum hr_status hr_offload_fits_sequences(struct hr_fits_sequence **out, size_t *count, const struct hr_offload *offload,
                                         double seconds, struct hr_fault *fault)
{
    struct list list = {.offload = offload};
    struct sequences sequences = {0};
    size_t fits;
    enum hr_status status = fit(&fits, &list, seconds, fault);
    for (size_t i = 0; i < offload->card_count && !status; i++)
        status = group_card(&sequences, &list, i, fits, fault);
    finish_list(&list);
    if (status) {
        free(sequences.rows);
        return status;
    }
    *out = sequences.rows;
    *count = sequences.count;
    return HR_OK;
}
