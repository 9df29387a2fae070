/* SPDX-License-Identifier: ISC */
#include "card/frames.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "card/kind.h"

static enum hr_card_file_kind kind_of(const struct hr_card_file *file)
{
    return (enum hr_card_file_kind)file->kind;
}

/* ---- Files that share folder and stem stand side by side ---- */

struct stemmed {
    struct hr_card_file file;
    size_t stem;
};

static int compare_stems(const struct stemmed *a, const struct stemmed *b)
{
    size_t shorter = a->stem < b->stem ? a->stem : b->stem;
    int order = memcmp(a->file.path, b->file.path, shorter);
    return order ? order : (a->stem > b->stem) - (a->stem < b->stem);
}

static int compare_stemmed(const void *left, const void *right)
{
    static const int ranks[] = {[HR_KIND_RAW] = 0,   [HR_KIND_JPEG] = 1, [HR_KIND_HEIF] = 2, [HR_KIND_SIDECAR] = 3,
                                [HR_KIND_SOUND] = 4, [HR_KIND_CLIP] = 5, [HR_KIND_OTHER] = 6};
    const struct stemmed *a = left, *b = right;
    int order = compare_stems(a, b);
    if (!order)
        order = ranks[a->file.kind] - ranks[b->file.kind];
    return order ? order : strcmp(a->file.path, b->file.path);
}

/* ---- Frames with what they are ordered by ---- */

struct ordered {
    size_t first, count; /* in the stemmed files */
    int64_t modified_ns; /* of the file written first */
    unsigned folder_number, counter;
};

static int compare_ordered(const void *left, const void *right)
{
    const struct ordered *a = left, *b = right;
    if (a->modified_ns != b->modified_ns)
        return a->modified_ns < b->modified_ns ? -1 : 1;
    if (a->folder_number != b->folder_number)
        return a->folder_number < b->folder_number ? -1 : 1;
    if (a->counter != b->counter)
        return a->counter < b->counter ? -1 : 1;
    return (a->first > b->first) - (a->first < b->first); /* the stemmed files stand in order of their bytes */
}

/* How many of the files from the first on are one frame: those of its stem, when a camera's file is among them. */
static size_t frame_length(const struct stemmed *files, size_t count)
{
    size_t length = 0;
    bool is_camera = false;
    do
        is_camera |= kind_of(&files[length++].file) != HR_KIND_OTHER;
    while (length < count && !compare_stems(&files[0], &files[length]));
    return is_camera ? length : 1;
}

static size_t group(struct ordered *frames, const struct stemmed *files, size_t count)
{
    size_t frame_count = 0;
    for (size_t at = 0; at < count;) {
        struct ordered *frame = &frames[frame_count++];
        *frame = (struct ordered){.first = at, .count = frame_length(files + at, count - at)};
        frame->modified_ns = files[at].file.modified_ns;
        for (size_t end = at + frame->count; at < end; at++)
            if (files[at].file.modified_ns < frame->modified_ns)
                frame->modified_ns = files[at].file.modified_ns;
        hr__path_numbers(&frame->folder_number, &frame->counter, files[frame->first].file.path);
    }
    return frame_count;
}

static void lay_out(struct hr_inventory *inventory, const struct stemmed *files, const struct ordered *frames)
{
    size_t at = 0;
    for (size_t f = 0; f < inventory->frame_count; f++) {
        struct hr_card_frame *frame = &inventory->frames[f];
        bool has_picture = false;
        *frame = (struct hr_card_frame){.first_file = (uint32_t)at, .file_count = (uint32_t)frames[f].count};
        for (size_t i = 0; i < frames[f].count; i++) {
            struct hr_card_file *file = &inventory->files[at++];
            *file = files[frames[f].first + i].file;
            file->frame = (uint32_t)f;
            frame->is_protected |= file->is_protected;
            has_picture |= hr__kind_is_picture(kind_of(file));
        }
        inventory->camera_frame_count += has_picture;
    }
}

enum hr_status hr__frames_arrange(struct hr_inventory *inventory, struct hr_fault *fault)
{
    size_t count = inventory->file_count;
    struct stemmed *files = calloc(count + 1, sizeof *files);
    struct ordered *frames = calloc(count + 1, sizeof *frames);
    enum hr_status status = files && frames ? HR_OK : hr__fault_nomem(fault, "the card's frames");
    if (!status) {
        for (size_t i = 0; i < count; i++)
            files[i] = (struct stemmed){.file = inventory->files[i], .stem = hr__stem_length(inventory->files[i].path)};
        qsort(files, count, sizeof *files, compare_stemmed);
        inventory->frame_count = group(frames, files, count);
        qsort(frames, inventory->frame_count, sizeof *frames, compare_ordered);
        inventory->frames = calloc(inventory->frame_count + 1, sizeof *inventory->frames);
        if (inventory->frames)
            lay_out(inventory, files, frames);
        else
            status = hr__fault_nomem(fault, "the card's frames");
    }
    free(frames);
    free(files);
    return status;
}
