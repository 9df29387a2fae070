/* SPDX-License-Identifier: ISC */
/* From delivered files to frames: files of one stem are one frame, on whatever card, in whatever place they stand. */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "card/frame_row.h"
#include "card/kind.h"
#include "sequence/delivered_state.h"
#include "sequence/same_content.h"

static const char what[] = "the delivered frames";
/* Files of one press are written one after the other, and some with whole seconds. */
static const int64_t one_press_ns = 2 * HR_NS_PER_S;

struct stem {
    const char *text; /* folder and stem; its last component from `name` on */
    size_t size, name;
};

static struct stem stem_of(const struct hr_gathered_file *item)
{
    const char *path = item->file.on_card;
    return (struct stem){path, hr__stem_length(path),
                         hr__path_folder_length(path) ? hr__path_folder_length(path) + 1 : 0};
}

static int compare_bytes(const char *a, size_t a_size, const char *b, size_t b_size)
{
    int order = memcmp(a, b, a_size < b_size ? a_size : b_size);
    return order ? order : (a_size > b_size) - (a_size < b_size);
}

static int compare_stems(const struct stem *a, const struct stem *b)
{
    return compare_bytes(a->text, a->size, b->text, b->size);
}

static int compare_names(const struct stem *a, const struct stem *b)
{
    return compare_bytes(a->text + a->name, a->size - a->name, b->text + b->name, b->size - b->name);
}

/* ---- One card ---- */

static int compare_cards_and_stems(const void *left, const void *right)
{
    const struct hr_gathered_file *a = left, *b = right;
    struct stem a_stem = stem_of(a), b_stem = stem_of(b);
    if (a->card != b->card)
        return a->card < b->card ? -1 : 1;
    int order = compare_stems(&a_stem, &b_stem);
    if (!order)
        order = a->has_time - b->has_time; /* those without a time join any that have one */
    if (!order)
        order = (a->local_ns > b->local_ns) - (a->local_ns < b->local_ns);
    return order ? order : strcmp(a->file.path, b->file.path);
}

static bool is_one_press(const struct hr_gathered_file *a, const struct hr_gathered_file *b)
{
    struct stem a_stem = stem_of(a), b_stem = stem_of(b);
    if (a->card != b->card || compare_stems(&a_stem, &b_stem) != 0)
        return false;
    return !a->has_time || !b->has_time || b->local_ns - a->local_ns <= one_press_ns;
}

/* Numbers the frames in order; gives their count. */
static size_t number_frames(struct hr_gathered_file *items, size_t count)
{
    uint32_t frames = 0;
    if (count)
        qsort(items, count, sizeof *items, compare_cards_and_stems);
    for (size_t i = 0; i < count; i++)
        items[i].frame = i > 0 && is_one_press(&items[i - 1], &items[i]) ? frames - 1 : frames++;
    return frames;
}

/* ---- Two cards in one body: a backup, or raw here and JPEG there ---- */

/* The file of a frame that knows most of it: the finest time, then the first. */
static bool knows_more(const struct hr_gathered_file *a, const struct hr_gathered_file *b)
{
    if (a->has_time != b->has_time)
        return a->has_time;
    return a->fraction_digits > b->fraction_digits;
}

static int compare_presses(const void *left, const void *right)
{
    const struct hr_gathered_file *a = *(const struct hr_gathered_file *const *)left;
    const struct hr_gathered_file *b = *(const struct hr_gathered_file *const *)right;
    struct stem a_stem = stem_of(a), b_stem = stem_of(b);
    int order = (a->local_ns > b->local_ns) - (a->local_ns < b->local_ns);
    if (!order)
        order = compare_names(&a_stem, &b_stem);
    if (!order)
        order = strcmp(a->serial, b->serial);
    if (!order)
        order = strcmp(a->model, b->model);
    return order ? order : (a->frame > b->frame) - (a->frame < b->frame);
}

/* A serial says it; without one the content must. */
static enum hr_status are_twins(bool *out, struct hr_gathered_file *a, struct hr_gathered_file *b,
                                const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct stem a_stem = stem_of(a), b_stem = stem_of(b);
    *out = a->card != b->card && a->local_ns == b->local_ns && compare_names(&a_stem, &b_stem) == 0 &&
           strcmp(a->serial, b->serial) == 0 && strcmp(a->job, b->job) == 0;
    if (!*out || a->serial[0])
        return HR_OK;
    return hr__same_content(out, a, b, cancel, fault);
}

/* *best: of each frame the file that knows most. Frames join an earlier one through `joins`. */
static enum hr_status join_cards(struct hr_gathered_file **best, uint32_t *joins, size_t frame_count,
                                 const struct hr_cancel *cancel, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    qsort(best, frame_count, sizeof *best, compare_presses);
    for (size_t i = 1; i < frame_count && !status; i++) {
        bool is_twin = false;
        if (best[i - 1]->has_time && best[i]->has_time)
            status = are_twins(&is_twin, best[i - 1], best[i], cancel, fault);
        if (is_twin)
            joins[best[i]->frame] = joins[best[i - 1]->frame];
    }
    return status;
}

static enum hr_status join_frames(struct hr_gathering *gathering, size_t frame_count, const struct hr_cancel *cancel,
                                  struct hr_fault *fault)
{
    struct hr_gathered_file **best = calloc(frame_count + 1, sizeof *best);
    uint32_t *joins = calloc(frame_count + 1, sizeof *joins);
    enum hr_status status = best && joins ? HR_OK : hr__fault_nomem(fault, what);
    for (size_t i = 0; i < gathering->item_count && !status; i++) {
        struct hr_gathered_file *item = &gathering->items[i];
        joins[item->frame] = item->frame;
        if (!best[item->frame] || knows_more(item, best[item->frame]))
            best[item->frame] = item;
    }
    if (!status && gathering->card_count > 1)
        status = join_cards(best, joins, frame_count, cancel, fault);
    for (size_t i = 0; i < gathering->item_count && !status; i++)
        gathering->items[i].frame = joins[gathering->items[i].frame];
    free(joins);
    free(best);
    return status;
}

/* ---- Laying out ---- */

static int compare_frames(const void *left, const void *right)
{
    static const int ranks[] = {[HR_KIND_RAW] = 0,  [HR_KIND_JPEG] = 1,  [HR_KIND_HEIF] = 2,
                                [HR_KIND_CLIP] = 3, [HR_KIND_SOUND] = 4, [HR_KIND_SIDECAR] = 5};
    const struct hr_gathered_file *a = left, *b = right;
    if (a->frame != b->frame)
        return a->frame < b->frame ? -1 : 1;
    int order = ranks[a->file.kind] - ranks[b->file.kind];
    if (!order)
        order = strcmp(hr__path_last(a->file.on_card), hr__path_last(b->file.on_card));
    if (!order)
        order = (a->file.place > b->file.place) - (a->file.place < b->file.place);
    return order ? order : strcmp(a->file.path, b->file.path);
}

static enum hr_status add_file(struct hr_gathering *gathering, struct hr_frame *frame, struct hr_gathered_file *item,
                               struct hr_gathered_file *before, const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_delivered *shown = &gathering->shown;
    bool is_copy = false;
    enum hr_status status = HR_OK;
    if (before && strcmp(hr__path_last(before->file.on_card), hr__path_last(item->file.on_card)) == 0)
        status = hr__same_content(&is_copy, before, item, cancel, fault);
    if (status)
        return status;
    shown->files[shown->file_count] = item->file;
    shown->files[shown->file_count++].is_copy = is_copy;
    frame->file_count++;
    if (!is_copy)
        frame->size_bytes += item->file.size_bytes;
    return HR_OK;
}

/* What a frame is called and when it was, from its files. */
static enum hr_status describe(struct hr_gathering *gathering, struct hr_frame *frame,
                               const struct hr_gathered_file *items, size_t count, struct hr_fault *fault)
{
    const struct hr_gathered_file *best = &items[0];
    bool has_picture = false;
    frame->serial = frame->model = "";
    for (size_t i = 0; i < count; i++) {
        has_picture |=
            items[i].file.kind != HR_KIND_CLIP && hr__kind_is_picture((enum hr_card_file_kind)items[i].file.kind);
        frame->serial = frame->serial[0] ? frame->serial : items[i].serial;
        frame->model = frame->model[0] ? frame->model : items[i].model;
        frame->trouble = frame->trouble ? frame->trouble : items[i].trouble;
        if (knows_more(&items[i], best))
            best = &items[i];
    }
    frame->key = hr__gathering_keep(gathering, strndup(items[0].file.on_card, stem_of(&items[0]).size));
    frame->job = items[0].job;
    frame->card = items[0].card;
    frame->is_clip = !has_picture;
    frame->has_time = best->has_time;
    frame->has_offset = best->has_offset;
    frame->offset_minutes = best->offset_minutes;
    frame->local_ns = best->local_ns;
    frame->iso = best->iso;
    hr__frame_numbers(&frame->folder_number, &frame->counter, items[0].file.on_card);
    return frame->key ? HR_OK : hr__fault_nomem(fault, what);
}

static bool has_picture_or_clip(const struct hr_gathered_file *items, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (hr__kind_is_picture((enum hr_card_file_kind)items[i].file.kind))
            return true;
    return false;
}

static enum hr_status add_frame(struct hr_gathering *gathering, struct hr_gathered_file *items, size_t count,
                                const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_delivered *shown = &gathering->shown;
    struct hr_frame *frame = &shown->frames[shown->frame_count];
    struct hr_gathered_file *before = NULL;
    *frame = (struct hr_frame){.first_file = shown->file_count};
    enum hr_status status = describe(gathering, frame, items, count, fault);
    for (size_t i = 0; i < count && !status; i++) {
        if (before && strcmp(before->file.path, items[i].file.path) == 0)
            continue; /* named twice */
        status = add_file(gathering, frame, &items[i], before, cancel, fault);
        before = &items[i];
    }
    shown->frame_count++;
    return status;
}

enum hr_status hr__gathering_make_frames(struct hr_gathering *gathering, const struct hr_cancel *cancel,
                                         struct hr_fault *fault)
{
    size_t count = gathering->item_count, frame_count = number_frames(gathering->items, count);
    struct hr_delivered *shown = &gathering->shown;
    enum hr_status status = join_frames(gathering, frame_count, cancel, fault);
    shown->files = calloc(count + 1, sizeof *shown->files);
    shown->frames = calloc(frame_count + 1, sizeof *shown->frames);
    if (!status && (!shown->files || !shown->frames))
        status = hr__fault_nomem(fault, what);
    if (!status && count > 0)
        qsort(gathering->items, count, sizeof *gathering->items, compare_frames);
    for (size_t at = 0, length; at < count && !status; at += length) {
        struct hr_gathered_file *items = gathering->items + at;
        for (length = 1; at + length < count && items[length].frame == items[0].frame; length++)
            continue;
        if (has_picture_or_clip(items, length))
            status = add_frame(gathering, items, length, cancel, fault);
    }
    return status;
}
