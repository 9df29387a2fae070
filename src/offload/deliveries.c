/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "offload/bag_record.h"
#include "offload/carry.h"

static struct hr_offload_card *card_of(struct hr_carry *carry)
{
    return &carry->offload->cards[carry->card];
}

/* ---- Beginning ---- */

static int compare_paths(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

struct card_paths {
    const char **paths; /* sorted */
    size_t count;
};

static bool is_on_card(const struct card_paths *paths, const char *path)
{
    return bsearch(&path, paths->paths, paths->count, sizeof *paths->paths, compare_paths) != NULL;
}

/* Ours alone has this shape, unless a file of the card happens to be named so. */
static bool is_temporary(void *context, const char *path)
{
    const char *name = hr__path_last(path);
    size_t length = strlen(name);
    bool has_shape = name[0] == '.' && length > 6 && !strcmp(name + length - 5, ".part");
    return has_shape && !is_on_card(context, path);
}

/* False, and nothing marked, when one of them is not on the card. */
static bool mark_unproven(struct hr_offload_card *card, const struct card_paths *paths, char **unrecorded, size_t count,
                          size_t place)
{
    for (size_t i = 0; i < count; i++)
        if (!is_on_card(paths, unrecorded[i]))
            return false;
    if (count == 0)
        return true;
    qsort(unrecorded, count, sizeof *unrecorded, compare_paths);
    for (size_t i = 0; i < card->inventory->file_count; i++)
        if (bsearch(&card->inventory->files[i].path, unrecorded, count, sizeof *unrecorded, compare_paths))
            card->unproven[i] |= (uint8_t)(1u << place);
    return true;
}

/* An interrupted bag is swept; one that holds names this card does not know is left alone, and a new one begun. */
static enum hr_status sweep(struct hr_carry *carry, size_t place, struct hr_fault *fault)
{
    struct hr_offload_card *card = card_of(carry);
    struct hr_delivery *delivery = &card->deliveries[place];
    struct card_paths paths = {.count = card->inventory->file_count};
    char **unrecorded = NULL;
    size_t count = 0;
    bool are_all_known = true;
    paths.paths = calloc(paths.count + 1, sizeof *paths.paths);
    if (!paths.paths)
        return hr__fault_nomem(fault, "the card's names");
    for (size_t i = 0; i < paths.count; i++)
        paths.paths[i] = card->inventory->files[i].path;
    qsort(paths.paths, paths.count, sizeof *paths.paths, compare_paths);
    enum hr_status status = hr_bag_sweep(&unrecorded, &count, delivery->bag, is_temporary, &paths, fault);
    if (!status)
        are_all_known = mark_unproven(card, &paths, unrecorded, count, place);
    hr_bag_paths_free(unrecorded, count);
    free(paths.paths);
    if (!status && !are_all_known) {
        hr_bag_close(delivery->bag);
        delivery->bag = NULL;
        hr__carry_note(carry,
                       "An interrupted bag holds files this card does not: it is left as it is, and a new bag begun.");
    }
    return status;
}

static enum hr_status begin_bag(struct hr_carry *carry, size_t place, struct hr_fault *fault)
{
    struct hr_offload_card *card = card_of(carry);
    struct hr_delivery *delivery = &card->deliveries[place];
    struct hr_bag_label label = hr__label_of(carry->offload, card);
    enum hr_status status = delivery->bag ? hr_bag_resume(delivery->bag, fault) : HR_OK;
    if (!status && delivery->bag)
        status = sweep(carry, place, fault);
    if (!status && !delivery->bag)
        status = hr_bag_create(&delivery->bag, carry->offload->places[place].path, &label, fault);
    return status;
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
