/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/array.h"
#include "base/checked.h"
#include "base/fault.h"
#include "card/card_state.h"
#include "card/clash.h"
#include "card/frames.h"
#include "card/inventory_draft.h"
#include "card/kind.h"

enum { FILES_MAX = 4000000, CHUNK_BYTES = 1 << 18 };

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

static enum hr_status check_count(const struct hr_inventory *inventory, struct hr_fault *fault)
{
    if (inventory->file_count + inventory->skip_count < FILES_MAX)
        return HR_OK;
    return hr__fault_set(fault, HR_TOO_LARGE, 0, "the card holds more than %d files", FILES_MAX);
}

/* FAT keeps the case a name was made with and ignores it afterwards. */
static bool begins_with_dcim(const char *path)
{
    return !strncasecmp(path, "DCIM", 4);
}

void hr__draft_note_folder(struct hr_inventory_draft *draft, const char *path)
{
    draft->inventory.has_dcim |= begins_with_dcim(path) && (!path[4] || path[4] == '/');
}

enum hr_status hr__draft_add_file(struct hr_inventory_draft *draft, const struct hr_card_file *file,
                                  struct hr_fault *fault)
{
    struct hr_inventory *inventory = &draft->inventory;
    struct hr_card_file kept = *file;
    enum hr_status status = check_count(inventory, fault);
    if (status)
        return status;
    if (!hr__add_u64(&inventory->total_bytes, inventory->total_bytes, file->size_bytes))
        return hr__fault_set(fault, HR_TOO_LARGE, 0, "the card's files have impossible sizes");
    kept.path = keep_path(draft, file->path);
    kept.kind = (uint8_t)hr__kind_of_path(file->path);
    if (!kept.path ||
        !hr__array_reserve(&inventory->files, &draft->file_capacity, inventory->file_count + 1, sizeof kept, FILES_MAX))
        return hr__fault_nomem(fault, "the card's files");
    inventory->files[inventory->file_count++] = kept;
    inventory->has_dcim |= begins_with_dcim(kept.path) && kept.path[4] == '/';
    return HR_OK;
}

enum hr_status hr__draft_add_skip(struct hr_inventory_draft *draft, const char *path, enum hr_card_skip_reason reason,
                                  enum hr_status skip_status, struct hr_fault *fault)
{
    struct hr_inventory *inventory = &draft->inventory;
    enum hr_status status = check_count(inventory, fault);
    if (status)
        return status;
    struct hr_card_skip skip = {.path = keep_path(draft, path), .reason = reason, .status = skip_status};
    if (!skip.path ||
        !hr__array_reserve(&inventory->skips, &draft->skip_capacity, inventory->skip_count + 1, sizeof skip, FILES_MAX))
        return hr__fault_nomem(fault, "the card's odd entries");
    inventory->skips[inventory->skip_count++] = skip;
    return HR_OK;
}

/* ---- Names that clash: an archive may hold any, a volume only when its folders are damaged ---- */

static int compare_paths(const void *left, const void *right)
{
    const struct hr_card_file *a = *(struct hr_card_file *const *)left, *b = *(struct hr_card_file *const *)right;
    int order = hr__clash_compare(a->path, b->path);
    return order ? order : (a->archive_at > b->archive_at) - (a->archive_at < b->archive_at);
}

/* A dropped file is left without a path. */
static enum hr_status drop(struct hr_inventory_draft *draft, struct hr_card_file *file, struct hr_fault *fault)
{
    const char *path = file->path;
    file->path = NULL;
    draft->inventory.total_bytes -= file->size_bytes;
    return hr__draft_add_skip(draft, path, HR_SKIP_DUPLICATE, HR_OK, fault);
}

/* Of the same path twice the first stands; a file that is also a folder gives way to what is in it. */
static enum hr_status drop_clashes(struct hr_inventory_draft *draft, struct hr_card_file **sorted,
                                   struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    size_t count = draft->inventory.file_count, kept = 0;
    for (size_t i = 1; i < count && !status; i++) {
        if (!strcmp(sorted[kept]->path, sorted[i]->path)) {
            status = drop(draft, sorted[i], fault);
            continue;
        }
        if (hr__clash_is_folder_of(sorted[kept]->path, sorted[i]->path))
            status = drop(draft, sorted[kept], fault);
        kept = i;
    }
    return status;
}

static enum hr_status settle_clashes(struct hr_inventory_draft *draft, struct hr_fault *fault)
{
    struct hr_inventory *inventory = &draft->inventory;
    size_t count = inventory->file_count, kept = 0;
    struct hr_card_file **sorted = calloc(count + 1, sizeof *sorted);
    if (!sorted)
        return hr__fault_nomem(fault, "the card's names");
    for (size_t i = 0; i < count; i++)
        sorted[i] = &inventory->files[i];
    qsort(sorted, count, sizeof *sorted, compare_paths);
    enum hr_status status = drop_clashes(draft, sorted, fault);
    free(sorted);
    for (size_t i = 0; i < count; i++)
        if (inventory->files[i].path)
            inventory->files[kept++] = inventory->files[i];
    inventory->file_count = kept;
    return status;
}

enum hr_status hr_inventory_create(struct hr_inventory **out, const struct hr_card *card,
                                   const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_inventory_draft *draft = calloc(1, sizeof *draft);
    if (!draft)
        return hr__fault_nomem(fault, "the card's inventory");
    enum hr_status status = card->store->walk(draft, card, cancel, fault);
    if (!status)
        status = hr__card_check_present(card, fault);
    if (!status)
        status = settle_clashes(draft, fault);
    if (!status)
        status = hr__frames_arrange(&draft->inventory, fault);
    if (status)
        hr_inventory_destroy(&draft->inventory);
    else
        *out = &draft->inventory;
    return status;
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
