/* SPDX-License-Identifier: ISC */
#include "offload/interrupted.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"

/* ---- The card's files by name ---- */

struct names {
    const struct hr_card_file **files; /* sorted by path bytes */
    size_t count;
};

static int compare_files(const void *a, const void *b)
{
    const struct hr_card_file *const *one = a, *const *other = b;
    return strcmp((*one)->path, (*other)->path);
}

static enum hr_status names_init(struct names *names, const struct hr_inventory *inventory, struct hr_fault *fault)
{
    names->count = inventory->file_count;
    names->files = calloc(names->count + 1, sizeof *names->files);
    if (!names->files)
        return hr__fault_nomem(fault, "the card's names");
    for (size_t i = 0; i < names->count; i++)
        names->files[i] = &inventory->files[i];
    qsort(names->files, names->count, sizeof *names->files, compare_files);
    return HR_OK;
}

static int compare_path(const void *path, const void *file)
{
    return strcmp(path, (*(const struct hr_card_file *const *)file)->path);
}

/* NULL when the card has no such file. */
static const struct hr_card_file *names_find(const struct names *names, const char *path)
{
    const struct hr_card_file **found = bsearch(path, names->files, names->count, sizeof *names->files, compare_path);
    return found ? *found : NULL;
}

/* Ours alone has this shape, unless a file of the card happens to be named so. */
static bool is_temporary(void *context, const char *path)
{
    return hr_transfer_is_part_name(hr__path_last(path)) && !names_find(context, path);
}

/* ---- Looking ---- */

/* The bag is gone on with when every file it holds is still that file on the card. */
static bool fits_card(struct names *names, const struct hr_bag *bag)
{
    size_t row_count, loose_count;
    const struct hr_bag_file *rows = hr_bag_files(bag, &row_count);
    char *const *loose = hr_bag_loose(bag, &loose_count);
    for (size_t i = 0; i < row_count; i++) {
        const struct hr_card_file *file = names_find(names, rows[i].path);
        if (!file || file->size_bytes != rows[i].size_bytes || file->modified_ns != rows[i].modified_ns)
            return false;
    }
    for (size_t i = 0; i < loose_count; i++)
        if (!is_temporary(names, loose[i]) && !names_find(names, loose[i]))
            return false;
    return true;
}

/* A card like many others may be another than the one the row was written for: it is taken for no more than a final
 * name, unless the ledger was asked by content and knows the file in this place. Copies of another content elsewhere
 * count no more, and are made again. */
static void note_row(struct hr_offload_card *card, size_t file, size_t place, const struct hr_bag_file *row)
{
    struct hr_delivery *delivery = &card->deliveries[place];
    uint8_t bit = (uint8_t)(1u << place);
    bool is_weak = hr_card_identity_is_weak(card->card);
    if (is_weak && !(card->in_places[file] & bit)) {
        card->unproven[file] |= bit;
        delivery->loose_files++;
        delivery->loose_bytes += row->size_bytes;
        return;
    }
    if (!is_weak && !hr__known_note(&card->known, file, delivery->drive, &row->xxh128, row->proof, row->proven_at_ns))
        card->in_places[file] = 0;
    card->in_places[file] |= bit;
    delivery->resumed_files++;
}

/* A final name without a row is read back whatever else is known of the file, for it will stand in the bag: the ledger
 * may remember the very copy whose row a power cut took, or another of the same content. */
static void note(struct hr_offload_card *card, const struct names *names, size_t place)
{
    struct hr_delivery *delivery = &card->deliveries[place];
    uint8_t bit = (uint8_t)(1u << place);
    size_t row_count, loose_count;
    const struct hr_bag_file *rows = hr_bag_files(delivery->bag, &row_count);
    char *const *loose = hr_bag_loose(delivery->bag, &loose_count);
    for (size_t i = 0; i < row_count; i++)
        note_row(card, (size_t)(names_find(names, rows[i].path) - card->inventory->files), place, &rows[i]);
    for (size_t i = 0; i < loose_count; i++) {
        const struct hr_card_file *found = names_find(names, loose[i]);
        if (!found)
            continue;
        size_t file = (size_t)(found - card->inventory->files);
        card->unproven[file] |= bit;
        card->in_places[file] &= (uint8_t)~bit;
        hr__known_forget(&card->known, file, delivery->drive);
    }
    delivery->loose_files += loose_count;
    delivery->loose_bytes += hr_bag_loose_bytes(delivery->bag);
}

static enum hr_status take_note(struct hr_offload *offload, struct hr_offload_card *card, size_t place,
                                struct hr_fault *fault)
{
    struct hr_delivery *delivery = &card->deliveries[place];
    struct names names;
    enum hr_status status = names_init(&names, card->inventory, fault);
    if (!status && fits_card(&names, delivery->bag)) {
        note(card, &names, place);
        hr_bag_forget_files(delivery->bag); /* so that one place's rows are in memory at a time */
    } else {
        hr_bag_close(delivery->bag);
        delivery->bag = NULL;
    }
    free(names.files);
    if (!status && !delivery->bag)
        status = hr__say(
            &offload->warnings,
            "An interrupted bag in %s holds files this card does not: it is left as it is, and a new bag begun.",
            offload->places[place].given);
    return status;
}

enum hr_status hr__interrupted_look(struct hr_offload *offload, struct hr_offload_card *card, size_t place,
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
    if (status == HR_OK)
        return take_note(offload, card, place, fault);
    if (status == HR_NOT_FOUND)
        return HR_OK;
    if (status == HR_BUSY)
        return hr__say(&offload->refusals, "Another run is copying this card to %s: wait for it, or stop it.",
                       offload->places[place].given);
    if (status == HR_NOMEM)
        return hr__fault_nomem(fault, "an interrupted bag");
    return hr__say(&offload->warnings, "An interrupted run in %s cannot be gone on with (%s): a new bag is begun.",
                   offload->places[place].given, cause.text);
}

/* ---- Taking over ---- */

enum hr_status hr__interrupted_take_over(const struct hr_offload_card *card, size_t place, struct hr_fault *fault)
{
    struct hr_bag *bag = card->deliveries[place].bag;
    struct names names;
    enum hr_status status = names_init(&names, card->inventory, fault);
    if (!status)
        status = hr_bag_resume(bag, fault);
    if (!status)
        status = hr_bag_sweep(bag, is_temporary, &names, fault);
    free(names.files);
    return status;
}
