/* SPDX-License-Identifier: ISC */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/checked.h"
#include "base/fault.h"
#include "base/path.h"
#include "card/card_state.h"
#include "card/inventory_draft.h"
#include "card/kind.h"

enum { FILES_MAX = 4000000, SKIPS_MAX = 100000, CHUNK_BYTES = 1 << 18 };

/* Paths stand one after another in chunks that never move. */
struct chunk {
    struct chunk *next;
    size_t used, size;
    char bytes[];
};

struct hr_inventory_draft {
    struct hr_inventory inventory; /* first, so that the finished inventory is the draft */
    struct chunk *chunks;
    size_t file_capacity, skip_capacity;
};

static const char *keep_path(struct hr_inventory_draft *draft, const char *path)
{
    size_t size = strlen(path) + 1;
    struct chunk *chunk = draft->chunks;
    if (!chunk || chunk->size - chunk->used < size) {
        size_t room = size > CHUNK_BYTES ? size : CHUNK_BYTES;
        chunk = malloc(sizeof *chunk + room);
        if (!chunk)
            return NULL;
        *chunk = (struct chunk){.next = draft->chunks, .size = room};
        draft->chunks = chunk;
    }
    char *kept = chunk->bytes + chunk->used;
    memcpy(kept, path, size);
    chunk->used += size;
    return kept;
}

enum hr_status hr__draft_add_file(struct hr_inventory_draft *draft, const struct hr_card_file *file,
                                  struct hr_fault *fault)
{
    struct hr_inventory *inventory = &draft->inventory;
    if (inventory->file_count == FILES_MAX)
        return hr__fault_set(fault, HR_TOO_LARGE, 0, "the card holds more than %d files", FILES_MAX);
    struct hr_card_file kept = *file;
    kept.path = keep_path(draft, file->path);
    kept.kind = (uint8_t)hr__kind_of_path(file->path);
    if (!kept.path || !hr__add_u64(&inventory->total_bytes, inventory->total_bytes, file->size_bytes) ||
        !hr__array_reserve(&inventory->files, &draft->file_capacity, inventory->file_count + 1, sizeof kept, FILES_MAX))
        return hr__fault_nomem(fault, "the card's files");
    inventory->files[inventory->file_count++] = kept;
    return HR_OK;
}

enum hr_status hr__draft_add_skip(struct hr_inventory_draft *draft, const char *path, enum hr_card_skip_reason reason,
                                  enum hr_status status, struct hr_fault *fault)
{
    struct hr_inventory *inventory = &draft->inventory;
    struct hr_card_skip skip = {.path = keep_path(draft, path), .reason = reason, .status = status};
    if (!skip.path ||
        !hr__array_reserve(&inventory->skips, &draft->skip_capacity, inventory->skip_count + 1, sizeof skip, SKIPS_MAX))
        return hr__fault_nomem(fault, "the card's odd entries");
    inventory->skips[inventory->skip_count++] = skip;
    return HR_OK;
}

/* ---- Frames ---- */

/* Length of folder and stem: "A/B_0001.JPG" and "A/B_0001.JPG.XMP" both end before ".JPG". A name that begins with its
 * only dot is all stem. */
static size_t stem_length(const char *path)
{
    size_t length = strlen(path);
    const char *extension = hr__path_extension(path);
    if (!*extension)
        return length;
    length -= strlen(extension) + 1;
    if (hr__kind_of_path(path) != HR_KIND_SIDECAR)
        return length;
    char *inner = strndup(path, length);
    if (inner && hr__kind_is_picture(hr__kind_of_path(inner)))
        length -= strlen(hr__path_extension(inner)) + 1;
    free(inner);
    return length;
}

/* Within a frame: raw, JPEG, HEIF, sidecar, sound, clip, other. */
static int rank_of(enum hr_card_file_kind kind)
{
    static const int ranks[] = {[HR_KIND_RAW] = 0,   [HR_KIND_JPEG] = 1, [HR_KIND_HEIF] = 2, [HR_KIND_SIDECAR] = 3,
                                [HR_KIND_SOUND] = 4, [HR_KIND_CLIP] = 5, [HR_KIND_OTHER] = 6};
    return ranks[kind];
}

struct grouped {
    struct hr_card_file file;
    size_t stem;
};

static int compare_stems(const struct grouped *a, const struct grouped *b)
{
    size_t shorter = a->stem < b->stem ? a->stem : b->stem;
    int order = memcmp(a->file.path, b->file.path, shorter);
    return order ? order : (a->stem > b->stem) - (a->stem < b->stem);
}

static int compare_grouped(const void *left, const void *right)
{
    const struct grouped *a = left, *b = right;
    int order = compare_stems(a, b);
    if (!order)
        order = rank_of((enum hr_card_file_kind)a->file.kind) - rank_of((enum hr_card_file_kind)b->file.kind);
    return order ? order : strcmp(a->file.path, b->file.path);
}

/* A frame with what it is ordered by. */
struct ordered {
    size_t first, count; /* in the grouped files */
    int64_t time_ns;
    unsigned folder_number, counter;
};

/* The DCF number of the folder a file stands in, and the counter at the end of its stem; 0 where there is none. */
static void read_numbers(struct ordered *frame, const struct grouped *file)
{
    const char *path = file->file.path, *name = hr__path_last(path), *folder = name > path ? name - 1 : path;
    while (folder > path && folder[-1] != '/')
        folder--;
    for (int i = 0; i < 3 && isdigit((unsigned char)folder[i]); i++)
        frame->folder_number = frame->folder_number * 10 + (unsigned)(folder[i] - '0');
    const char *end = path + file->stem, *digits = end;
    while (digits > name && end - digits < 4 && isdigit((unsigned char)digits[-1]))
        digits--;
    for (; digits < end; digits++)
        frame->counter = frame->counter * 10 + (unsigned)(*digits - '0');
}

static int compare_ordered(const void *left, const void *right)
{
    const struct ordered *a = left, *b = right;
    if (a->time_ns != b->time_ns)
        return a->time_ns < b->time_ns ? -1 : 1;
    if (a->folder_number != b->folder_number)
        return a->folder_number < b->folder_number ? -1 : 1;
    if (a->counter != b->counter)
        return a->counter < b->counter ? -1 : 1;
    return (a->first > b->first) - (a->first < b->first); /* grouped by bytes */
}

static size_t run_length(const struct grouped *files, size_t count, bool *has_picture)
{
    size_t length = 0;
    *has_picture = false;
    do
        *has_picture |= hr__kind_is_picture((enum hr_card_file_kind)files[length++].file.kind);
    while (length < count && !compare_stems(&files[0], &files[length]));
    return length;
}

static size_t group(struct ordered *frames, const struct grouped *files, size_t count)
{
    size_t frame_count = 0;
    for (size_t at = 0, length; at < count; at += length) {
        bool has_picture;
        length = run_length(files + at, count - at, &has_picture);
        if (!has_picture)
            length = 1;
        struct ordered *frame = &frames[frame_count++];
        *frame = (struct ordered){.first = at, .count = length, .time_ns = files[at].file.modified_ns};
        for (size_t i = at; i < at + length; i++)
            if (files[i].file.modified_ns < frame->time_ns)
                frame->time_ns = files[i].file.modified_ns;
        read_numbers(frame, &files[at]);
    }
    return frame_count;
}

static void lay_out(struct hr_inventory *inventory, const struct grouped *files, const struct ordered *frames,
                    size_t frame_count)
{
    size_t at = 0;
    for (size_t f = 0; f < frame_count; f++) {
        struct hr_card_frame *frame = &inventory->frames[f];
        bool is_camera = false;
        *frame = (struct hr_card_frame){.first_file = (uint32_t)at, .file_count = (uint32_t)frames[f].count};
        for (size_t i = 0; i < frames[f].count; i++) {
            struct hr_card_file *file = &inventory->files[at++];
            *file = files[frames[f].first + i].file;
            file->frame = (uint32_t)f;
            frame->is_protected |= file->is_protected;
            is_camera |= hr__kind_is_picture((enum hr_card_file_kind)file->kind);
        }
        inventory->camera_frame_count += is_camera;
    }
    inventory->frame_count = frame_count;
}

/* The same path twice can only come from an archive; the first stands. */
static enum hr_status drop_duplicates(struct hr_inventory_draft *draft, struct grouped *files, size_t *count,
                                      struct hr_fault *fault)
{
    size_t kept = 0;
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < *count && !status; i++)
        if (i > 0 && !strcmp(files[i].file.path, files[kept - 1].file.path)) {
            draft->inventory.total_bytes -= files[i].file.size_bytes;
            status = hr__draft_add_skip(draft, files[i].file.path, HR_SKIP_DUPLICATE, HR_OK, fault);
        } else {
            files[kept++] = files[i];
        }
    *count = kept;
    return status;
}

static enum hr_status arrange(struct hr_inventory_draft *draft, struct hr_fault *fault)
{
    struct hr_inventory *inventory = &draft->inventory;
    size_t count = inventory->file_count;
    struct grouped *files = calloc(count + 1, sizeof *files);
    struct ordered *frames = calloc(count + 1, sizeof *frames);
    inventory->frames = calloc(count + 1, sizeof *inventory->frames);
    enum hr_status status = files && frames && inventory->frames ? HR_OK : hr__fault_nomem(fault, "the card's frames");
    if (!status) {
        for (size_t i = 0; i < count; i++)
            files[i] = (struct grouped){.file = inventory->files[i], .stem = stem_length(inventory->files[i].path)};
        qsort(files, count, sizeof *files, compare_grouped);
        status = drop_duplicates(draft, files, &count, fault);
    }
    if (!status) {
        size_t frame_count = group(frames, files, count);
        qsort(frames, frame_count, sizeof *frames, compare_ordered);
        inventory->file_count = count;
        lay_out(inventory, files, frames, frame_count);
    }
    free(frames);
    free(files);
    return status;
}

static bool has_dcim(const struct hr_inventory *inventory)
{
    for (size_t i = 0; i < inventory->file_count; i++)
        if (!strncmp(inventory->files[i].path, "DCIM/", 5))
            return true;
    return false;
}

enum hr_status hr_inventory_create(struct hr_inventory **out, const struct hr_card *card,
                                   const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_inventory_draft *draft = calloc(1, sizeof *draft);
    if (!draft)
        return hr__fault_nomem(fault, "the card's inventory");
    enum hr_status status = card->store->walk(draft, card, cancel, fault);
    if (!status)
        status = arrange(draft, fault);
    if (status) {
        hr_inventory_destroy(&draft->inventory);
        return hr__card_blame(card, status, fault);
    }
    draft->inventory.has_dcim = has_dcim(&draft->inventory);
    *out = &draft->inventory;
    return HR_OK;
}

void hr_inventory_destroy(struct hr_inventory *inventory)
{
    struct hr_inventory_draft *draft = (struct hr_inventory_draft *)inventory;
    if (!draft)
        return;
    for (struct chunk *chunk = draft->chunks; chunk;) {
        struct chunk *next = chunk->next;
        free(chunk);
        chunk = next;
    }
    free(inventory->files);
    free(inventory->frames);
    free(inventory->skips);
    free(draft);
}
