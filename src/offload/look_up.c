/* SPDX-License-Identifier: ISC */
/* Asking the ledger what is known of a card's files. */
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "offload/met_bags.h"

/* More copies of one content add nothing: a card of empty files must not make each of them ask after all others. Of
 * those that are not looked at some may be copied again, which is never wrong. */
enum { COPIES_MAX = 64 };

/* A copy the ledger told of. Copies are collected before they are looked at, since the ledger must not be asked while
 * it answers. */
struct told_copy {
    int64_t bag;
    enum hr_proof proof;
    int64_t proven_at_ns;
    char *path; /* in its bag, where it need not be the file's own; else NULL */
};

struct asking {
    const struct hr_look_up *look_up;
    struct hr_known *known;
    struct hr_met_bags met;
    struct told_copy told[COPIES_MAX];
    size_t told_count;
    bool is_out_of_memory;
    uint32_t *unsure; /* files whose content must decide */
    size_t unsure_count, unsure_capacity;
};

static void forget_told(struct asking *asking)
{
    for (size_t i = 0; i < asking->told_count; i++)
        free(asking->told[i].path);
    asking->told_count = 0;
}

/* Those in one of these bags. */
static void forget_told_in(struct asking *asking, const int64_t *bags, size_t bag_count)
{
    size_t kept = 0;
    for (size_t i = 0; i < asking->told_count; i++) {
        bool is_in = false;
        for (size_t b = 0; b < bag_count; b++)
            is_in |= asking->told[i].bag == bags[b];
        if (is_in)
            free(asking->told[i].path);
        else
            asking->told[kept++] = asking->told[i];
    }
    asking->told_count = kept;
}

static bool collect(void *context, const struct hr_ledger_copy *copy, const char *path)
{
    struct asking *asking = context;
    struct told_copy told = {.bag = copy->bag, .proof = copy->proof, .proven_at_ns = copy->proven_at_ns};
    if (asking->told_count == COPIES_MAX)
        return false;
    told.path = path ? strdup(path) : NULL;
    asking->is_out_of_memory = path && !told.path;
    if (!asking->is_out_of_memory)
        asking->told[asking->told_count++] = told;
    return !asking->is_out_of_memory;
}

static bool collect_exact(void *context, const struct hr_ledger_copy *copy)
{
    return collect(context, copy, NULL);
}

/* What was told of `file` is noted as far as it still stands. */
static enum hr_status note_told(struct asking *asking, size_t file, const struct hr_digest *xxh128,
                                struct hr_fault *fault)
{
    const struct hr_look_up *look_up = asking->look_up;
    const struct hr_card_file *wanted = &look_up->inventory->files[file];
    enum hr_status status = asking->is_out_of_memory ? hr__fault_nomem(fault, "the ledger's answer") : HR_OK;
    for (size_t i = 0; i < asking->told_count && !status; i++) {
        const struct told_copy *told = &asking->told[i];
        struct hr_met_bag *bag;
        status = hr__met_bags_find(&bag, &asking->met, told->bag, look_up, &asking->known->drives, fault);
        if (status || !hr__met_bag_holds(bag, told->path ? told->path : wanted->path, wanted->size_bytes))
            continue;
        (void)hr__known_note(asking->known, file, bag->drive, xxh128, told->proof, told->proven_at_ns);
        if (look_up->in_places)
            look_up->in_places[file] |= bag->places;
    }
    forget_told(asking);
    return status;
}

static struct hr_ledger_file ledger_file_of(const struct hr_look_up *look_up, size_t file)
{
    const struct hr_card_file *wanted = &look_up->inventory->files[file];
    return (struct hr_ledger_file){.card_identity = hr_card_identity(look_up->card),
                                   .path = wanted->path,
                                   .size_bytes = wanted->size_bytes,
                                   .modified_ns = wanted->modified_ns};
}

static bool is_enough(const struct asking *asking, size_t file)
{
    const struct hr_look_up *look_up = asking->look_up;
    uint64_t proven = asking->known->proven[file];
    uint8_t everywhere = (uint8_t)((1u << look_up->place_count) - 1);
    bool has_two = (proven & (proven - 1)) != 0;
    return has_two && (!look_up->in_places || look_up->in_places[file] == everywhere);
}

/* Copies of the file itself were collected. Where they are not enough those of its content count as well, where
 * it has own ones those that are called as it is, for what a place has of it from another delivery is not copied there
 * again. Not in the bags it should stand in itself: if it has vanished from one, it is copied there again, whatever
 * else is like it. */
static enum hr_status note_own_and_others(struct asking *asking, size_t file, const struct hr_digest *xxh128,
                                          struct hr_fault *fault)
{
    const struct hr_look_up *look_up = asking->look_up;
    int64_t own_bags[COPIES_MAX];
    size_t own_count = asking->told_count;
    for (size_t i = 0; i < own_count; i++)
        own_bags[i] = asking->told[i].bag;
    enum hr_status status = note_told(asking, file, xxh128, fault);
    if (status || is_enough(asking, file))
        return status;
    struct hr_ledger_file wanted = ledger_file_of(look_up, file);
    wanted.xxh128 = *xxh128;
    status = own_count > 0 ? hr_ledger_find_namesakes(look_up->ledger, &wanted, collect, asking, fault)
                           : hr_ledger_find_content(look_up->ledger, wanted.size_bytes, xxh128, collect, asking, fault);
    forget_told_in(asking, own_bags, own_count);
    return status ? status : note_told(asking, file, xxh128, fault);
}

static enum hr_status ask_identity(struct asking *asking, size_t file, struct hr_fault *fault)
{
    const struct hr_look_up *look_up = asking->look_up;
    struct hr_ledger_file wanted = ledger_file_of(look_up, file), digests;
    bool may_know = false;
    enum hr_status status = hr_ledger_find_copies(look_up->ledger, &wanted, &digests, collect_exact, asking, fault);
    if (status == HR_OK && !hr_card_identity_is_weak(look_up->card))
        return note_own_and_others(asking, file, &digests.xxh128, fault);
    if (status != HR_OK && status != HR_NOT_FOUND)
        return status;
    if (fault)
        hr_fault_clear(fault);
    may_know = status == HR_OK; /* on a card like many others even an equal identity is only a hint */
    forget_told(asking);
    if (!may_know)
        status = hr_ledger_may_know_content(&may_know, look_up->ledger, &wanted, fault);
    if (status || !may_know)
        return status;
    if (!hr__array_reserve(&asking->unsure, &asking->unsure_capacity, asking->unsure_count + 1, sizeof *asking->unsure,
                           UINT32_MAX))
        return hr__fault_nomem(fault, "the list of files to compare");
    asking->unsure[asking->unsure_count++] = (uint32_t)file;
    return HR_OK;
}

static enum hr_status ask_content(struct asking *asking, const struct hr_transfer_item *item, struct hr_fault *fault)
{
    const struct hr_look_up *look_up = asking->look_up;
    size_t file = (size_t)(item->file - look_up->inventory->files);
    struct hr_ledger_file wanted = ledger_file_of(look_up, file), digests;
    if (item->status != HR_OK)
        return HR_OK; /* it cannot be read now: the offload itself will say so */
    enum hr_status status = hr_ledger_find_copies(look_up->ledger, &wanted, &digests, collect_exact, asking, NULL);
    if (status != HR_OK || !hr_digest_equal(&digests.xxh128, &item->xxh128))
        forget_told(asking);
    return note_own_and_others(asking, file, &item->xxh128, fault);
}

struct reading {
    const struct hr_look_observer *look;
    struct hr_look_progress told;
};

static void tell_reading(void *context, const struct hr_transfer_progress *progress)
{
    struct reading *reading = context;
    struct hr_look_progress *told = &reading->told;
    uint64_t bytes = progress->read.bytes, files = progress->read.files;
    told->elapsed_ns = progress->elapsed_ns;
    /* What could not be read is read again. */
    told->bytes_done = bytes < told->bytes_total ? bytes : told->bytes_total;
    told->files_done = files < told->files_total ? (size_t)files : told->files_total;
    reading->look->progress(reading->look->context, told);
}

/* The engine without places: it only reads and makes digests. */
static enum hr_status run_reading(struct hr_transfer_job *job, const struct hr_look_up *look_up, struct hr_fault *fault)
{
    struct reading reading = {.look = look_up->look,
                              .told = {.card = hr_card_path(look_up->card), .files_total = job->item_count}};
    struct hr_transfer_observer observer = {.context = &reading, .progress = tell_reading};
    for (size_t i = 0; i < job->item_count; i++)
        reading.told.bytes_total += job->items[i].file->size_bytes;
    bool is_watched = look_up->look && look_up->look->progress;
    return hr_transfer_run(job, is_watched ? &observer : NULL, look_up->cancel, fault);
}

static enum hr_status read_unsure(struct asking *asking, struct hr_fault *fault)
{
    const struct hr_look_up *look_up = asking->look_up;
    struct hr_transfer_card card = {.card = look_up->card, .item_count = asking->unsure_count};
    struct hr_transfer_job job = {.cards = &card, .card_count = 1, .item_count = asking->unsure_count};
    job.items = calloc(asking->unsure_count + 1, sizeof *job.items);
    if (!job.items)
        return hr__fault_nomem(fault, "the files to compare");
    for (size_t i = 0; i < job.item_count; i++)
        job.items[i].file = &look_up->inventory->files[asking->unsure[i]];
    enum hr_status status = run_reading(&job, look_up, fault);
    if (!status && card.status == HR_GONE)
        status = hr__fault_about(fault, HR_GONE, hr_card_path(look_up->card), "the card was pulled");
    for (size_t i = 0; i < job.item_count && !status; i++)
        status = ask_content(asking, &job.items[i], fault);
    free(job.items);
    return status;
}

enum hr_status hr__known_look_up(struct hr_known *known, const struct hr_look_up *look_up, struct hr_fault *fault)
{
    struct asking asking = {.look_up = look_up, .known = known};
    enum hr_status status = hr_ledger_begin_asking(look_up->ledger, fault);
    for (size_t i = 0; i < look_up->inventory->file_count && !status; i++)
        status = hr_cancel_requested(look_up->cancel) ? HR_CANCELLED : ask_identity(&asking, i, fault);
    hr_ledger_end_asking(look_up->ledger);
    if (!status && asking.unsure_count > 0)
        status = read_unsure(&asking, fault);
    forget_told(&asking);
    free(asking.unsure);
    hr__met_bags_finish(&asking.met);
    return status;
}
