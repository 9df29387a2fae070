/* SPDX-License-Identifier: ISC */
/* Everything that can be known to go wrong before a byte is written, each in one sentence that says what to do. */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "offload/offload_state.h"
#include <headrace/name.h>

#include "offload/preflight_drives.h"
#include "offload/preflight_names.h"
#include "platform/folder.h"

enum { JOB_MAX_BYTES = 200 };

/* ---- Cards ---- */

static enum hr_status check_card_content(struct hr_offload *offload, const struct hr_offload_card *card)
{
    const char *path = hr_card_path(card->card);
    enum hr_status status = HR_OK;
    if (card->inventory->file_count == 0)
        status = hr__say(&offload->refusals, "Card %s is empty: is it the right one, and mounted?", path);
    else if (!card->inventory->has_dcim && !offload->options.any_folder)
        status = hr__say(&offload->refusals,
                         "%s holds no DCIM folder, so it is no card: name the card's own folder, or say --any-folder.",
                         path);
    for (size_t i = 0; i < card->inventory->skip_count && !status; i++) {
        char name[HR_FAULT_TEXT_SIZE];
        const struct hr_card_skip *skip = &card->inventory->skips[i];
        hr_escape_name(name, sizeof name, skip->path, strlen(skip->path));
        status = hr__say(&offload->warnings, "%s: %s, not copied.", name, hr_card_skip_text(skip->reason));
    }
    return status;
}

static enum hr_status check_card_twice(struct hr_offload *offload, size_t card)
{
    for (size_t i = 0; i < card; i++)
        if (!strcmp(hr_card_resolved_path(offload->cards[i].card), hr_card_resolved_path(offload->cards[card].card)))
            return hr__say(&offload->refusals, "Card %s is named twice.", hr_card_path(offload->cards[card].card));
    return HR_OK;
}

/* ---- Places against each other and against cards ---- */

static enum hr_status check_pair(struct hr_offload *offload, const struct hr_offload_place *a,
                                 const struct hr_offload_place *b)
{
    if (!strcmp(a->path, b->path))
        return hr__say(&offload->refusals, "Places %s and %s are the same folder: name two drives.", a->given,
                       b->given);
    return HR_OK;
}

static enum hr_status check_against_card(struct hr_offload *offload, const struct hr_offload_place *place,
                                         const struct hr_offload_card *card)
{
    const char *path = hr_card_resolved_path(card->card);
    if (hr__path_contains(path, place->path))
        return hr__say(&offload->refusals, "Place %s is inside the card %s: nothing is ever written to a card.",
                       place->given, hr_card_path(card->card));
    if (hr__path_contains(place->path, path) && !hr_card_is_archive(card->card))
        return hr__say(&offload->refusals, "Card %s is inside the place %s: name a place beside it.",
                       hr_card_path(card->card), place->given);
    return HR_OK;
}

/* ---- Room ---- */

/* What the bag's own files take beside the payload: manifests, CSV files and folders, a line or an entry each a file.
 */
enum { BAG_BYTES_A_FILE = 1024, BAG_BYTES = 1 << 20, BAG_FILES = 64 };

struct need {
    uint64_t bytes, files;
};

static void take_off(uint64_t *sum, uint64_t part)
{
    *sum -= part < *sum ? part : *sum;
}

/* What an interrupted run left unproven is either kept or removed before anything is written: its room is there. */
static void add_needs(struct need *need, const struct hr_offload *offload, size_t place)
{
    uint64_t block = offload->places[place].volume.block_bytes ? offload->places[place].volume.block_bytes : 4096;
    for (size_t c = 0; c < offload->card_count; c++) {
        const struct hr_offload_card *card = &offload->cards[c];
        if (card->deliveries[place].files_to_copy == 0)
            continue;
        need->bytes += BAG_BYTES + card->deliveries[place].files_to_copy * BAG_BYTES_A_FILE;
        need->files += BAG_FILES + card->deliveries[place].files_to_copy;
        for (size_t i = 0; i < card->inventory->file_count; i++)
            if (!(card->in_places[i] & (1u << place)))
                need->bytes += (card->inventory->files[i].size_bytes + block - 1) / block * block;
        take_off(&need->bytes, card->deliveries[place].loose_bytes);
        take_off(&need->files, card->deliveries[place].loose_files);
    }
}

/* Places on one filesystem draw on the same room, so each is held against what all of them need. */
static enum hr_status check_room(struct hr_offload *offload, size_t place)
{
    const struct hr_offload_place *here = &offload->places[place];
    struct need need = {0};
    char needed[HR_UNIT_TEXT_SIZE], free_text[HR_UNIT_TEXT_SIZE], files[HR_UNIT_TEXT_SIZE], left[HR_UNIT_TEXT_SIZE];
    for (size_t i = 0; i < offload->options.place_count; i++)
        if (offload->places[i].has_volume && offload->places[i].volume.device == here->volume.device)
            add_needs(&need, offload, i);
    hr__format_bytes(needed, need.bytes);
    hr__format_bytes(free_text, here->volume.free_bytes);
    if (need.bytes > here->volume.free_bytes)
        return hr__say(&offload->refusals, "Place %s lacks room: %s needed, %s free. Free some, or name another drive.",
                       here->given, needed, free_text);
    hr__format_count(files, need.files);
    hr__format_counted(left, here->volume.free_files, "file");
    if (need.files > here->volume.free_files)
        return hr__say(&offload->refusals, "Place %s has room (inodes) for %s, and %s are needed: name another drive.",
                       here->given, left, files);
    return HR_OK;
}

static enum hr_status check_largest(struct hr_offload *offload, size_t place)
{
    const struct hr_offload_place *here = &offload->places[place];
    for (size_t c = 0; c < offload->card_count; c++) {
        const struct hr_offload_card *card = &offload->cards[c];
        for (size_t i = 0; i < card->inventory->file_count; i++) {
            const struct hr_card_file *file = &card->inventory->files[i];
            char name[HR_FAULT_TEXT_SIZE], size[HR_UNIT_TEXT_SIZE];
            if (file->size_bytes <= here->volume.max_file_bytes || (card->in_places[i] & (1u << place)))
                continue;
            hr_escape_name(name, sizeof name, file->path, strlen(file->path));
            return hr__say(&offload->refusals,
                           "Place %s (%s) cannot hold files as large as %s (%s): name another drive.", here->given,
                           here->volume.fs_type, name, hr__format_bytes(size, file->size_bytes));
        }
    }
    return HR_OK;
}

/* The job's folder, or the place where that is to be made. */
static enum hr_status check_access(struct hr_offload *offload, size_t place, const struct hr_offload_card *card)
{
    const struct hr_offload_place *here = &offload->places[place];
    if (card->deliveries[place].files_to_copy == 0)
        return HR_OK;
    char *job = hr__path_join(here->path, card->job);
    if (!job)
        return HR_NOMEM;
    enum hr_status access = hr__folder_may_fill(job);
    bool is_there = access != HR_NOT_FOUND;
    if (!is_there)
        access = hr__folder_may_fill(here->path);
    free(job);
    if (access != HR_DENIED)
        return HR_OK;
    return hr__say(&offload->refusals,
                   "Place %s: you may not write in %s%s: name another folder, or have its owner let you.", here->given,
                   is_there ? "its folder " : "it", is_there ? card->job : "");
}

static enum hr_status check_place(struct hr_offload *offload, size_t place)
{
    struct hr_offload_place *here = &offload->places[place];
    enum hr_status status = HR_OK;
    if (here->volume.is_read_only)
        return hr__say(&offload->refusals, "Place %s is mounted read-only: unlock or remount the drive.", here->given);
    for (size_t i = 0; i < place && !status; i++)
        if (offload->places[i].has_volume)
            status = check_pair(offload, &offload->places[i], here);
    for (size_t i = 0; i < offload->card_count && !status; i++)
        status = check_against_card(offload, here, &offload->cards[i]);
    if (!status)
        status = check_largest(offload, place);
    if (!status)
        status = check_room(offload, place);
    for (size_t i = 0; i < offload->card_count && !status; i++)
        status = check_access(offload, place, &offload->cards[i]);
    for (size_t i = 0; i < offload->card_count && !status; i++)
        status = hr__preflight_names(offload, place, i);
    return status;
}

bool hr__job_is_fit(const char *job)
{
    return *job && *job != '.' && strlen(job) <= JOB_MAX_BYTES && !strchr(job, '/');
}

static enum hr_status check_job(struct hr_offload *offload)
{
    const char *job = offload->options.job;
    if (!job || hr__job_is_fit(job))
        return HR_OK;
    return hr__say(&offload->refusals,
                   "The job's name becomes a folder: it may not be empty, hold '/', begin with '.' or pass %d bytes.",
                   JOB_MAX_BYTES);
}

enum hr_status hr__preflight(struct hr_offload *offload, struct hr_fault *fault)
{
    enum hr_status status = check_job(offload);
    for (size_t i = 0; i < offload->card_count && !status; i++) {
        status = check_card_twice(offload, i);
        if (!status)
            status = check_card_content(offload, &offload->cards[i]);
    }
    for (size_t i = 0; i < offload->options.place_count && !status; i++)
        if (offload->places[i].has_volume)
            status = check_place(offload, i);
    if (!status)
        status = hr__preflight_drives(offload);
    return status ? hr__fault_set(fault, status, 0, "no memory to look at cards and places") : HR_OK;
}
