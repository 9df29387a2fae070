/* SPDX-License-Identifier: ISC */
#include <stdlib.h>

#include "base/fault.h"
#include "card/card_state.h"

const char *hr_first_name(enum hr_first key)
{
    static const char *const names[] = {
        [HR_FIRST_PROTECTED] = "protected", [HR_FIRST_RATED] = "rated", [HR_FIRST_NEWEST] = "newest"};
    return key < HR_FIRST_COUNT ? names[key] : NULL;
}

/* A frame with what it is to be taken by: smaller goes first, key after key, capture order last. */
struct turn {
    int64_t keys[HR_FIRST_COUNT];
    uint32_t frame;
};

static int64_t key_of(const struct hr_card_frame *frame, uint32_t index, enum hr_first key)
{
    switch (key) {
    case HR_FIRST_PROTECTED:
        return !frame->is_protected;
    case HR_FIRST_RATED:
        return -frame->rating;
    case HR_FIRST_NEWEST:
        return -(int64_t)index;
    case HR_FIRST_COUNT:
        break;
    }
    return 0;
}

static int compare_turns(const void *left, const void *right)
{
    const struct turn *a = left, *b = right;
    for (size_t i = 0; i < HR_FIRST_COUNT; i++)
        if (a->keys[i] != b->keys[i])
            return a->keys[i] < b->keys[i] ? -1 : 1;
    return (a->frame > b->frame) - (a->frame < b->frame);
}

/* ---- Archives are read as they stand ---- */

struct position {
    uint64_t at;
    uint32_t file;
};

static int compare_positions(const void *left, const void *right)
{
    const struct position *a = left, *b = right;
    return (a->at > b->at) - (a->at < b->at);
}

static enum hr_status order_by_archive(uint32_t *order, const struct hr_inventory *inventory, struct hr_fault *fault)
{
    struct position *positions = calloc(inventory->file_count + 1, sizeof *positions);
    if (!positions)
        return hr__fault_nomem(fault, "the order of files");
    for (size_t i = 0; i < inventory->file_count; i++)
        positions[i] = (struct position){.at = inventory->files[i].archive_at, .file = (uint32_t)i};
    qsort(positions, inventory->file_count, sizeof *positions, compare_positions);
    for (size_t i = 0; i < inventory->file_count; i++)
        order[i] = positions[i].file;
    free(positions);
    return HR_OK;
}

static enum hr_status order_by_keys(uint32_t *order, const struct hr_inventory *inventory, const enum hr_first *keys,
                                    size_t key_count, struct hr_fault *fault)
{
    struct turn *turns = calloc(inventory->frame_count + 1, sizeof *turns);
    if (!turns)
        return hr__fault_nomem(fault, "the order of files");
    for (uint32_t f = 0; f < inventory->frame_count; f++) {
        turns[f].frame = f;
        for (size_t k = 0; k < key_count && k < HR_FIRST_COUNT; k++)
            turns[f].keys[k] = key_of(&inventory->frames[f], f, keys[k]);
    }
    qsort(turns, inventory->frame_count, sizeof *turns, compare_turns);
    size_t at = 0;
    for (size_t f = 0; f < inventory->frame_count; f++) {
        const struct hr_card_frame *frame = &inventory->frames[turns[f].frame];
        for (uint32_t i = 0; i < frame->file_count; i++)
            order[at++] = frame->first_file + i;
    }
    free(turns);
    return HR_OK;
}

enum hr_status hr_inventory_order(uint32_t **out, const struct hr_inventory *inventory, const struct hr_card *card,
                                  const enum hr_first *keys, size_t key_count, struct hr_fault *fault)
{
    uint32_t *order = calloc(inventory->file_count + 1, sizeof *order);
    if (!order)
        return hr__fault_nomem(fault, "the order of files");
    enum hr_status status = hr_card_is_archive(card) ? order_by_archive(order, inventory, fault)
                                                     : order_by_keys(order, inventory, keys, key_count, fault);
    if (status)
        free(order);
    else
        *out = order;
    return status;
}
