/* SPDX-License-Identifier: ISC */
/* A card that is a mounted volume or a folder. */
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"
#include "card/card_state.h"
#include "card/inventory_draft.h"

enum { ENTRIES_MAX = 4000000, FOLDERS_MAX = 1000000 };

/* ---- The walk: folders still to be listed stand in a list, so that depth costs no stack ---- */

struct walk {
    struct hr_inventory_draft *draft;
    const struct hr_card *card;
    char **folders; /* still to be listed; owned */
    size_t count, capacity;
};

static enum hr_status add_entry(struct walk *walk, const char *path, const struct hr_entry *entry,
                                struct hr_fault *fault)
{
    if (entry->status)
        return hr__draft_add_skip(walk->draft, path, HR_SKIP_UNREADABLE, entry->status, fault);
    if (entry->kind == HR_ENTRY_LINK)
        return hr__draft_add_skip(walk->draft, path, HR_SKIP_LINK, HR_OK, fault);
    if (entry->kind == HR_ENTRY_OTHER)
        return hr__draft_add_skip(walk->draft, path, HR_SKIP_SPECIAL, HR_OK, fault);
    struct hr_card_file file = {.path = path,
                                .size_bytes = entry->facts.size_bytes,
                                .modified_ns = entry->facts.modified_ns,
                                .is_protected = (entry->facts.permissions & 0222) == 0};
    return hr__draft_add_file(walk->draft, &file, fault);
}

static enum hr_status take_entry(struct walk *walk, const char *folder, const struct hr_entry *entry,
                                 struct hr_fault *fault)
{
    char *path = hr__path_join(folder, entry->name);
    if (!path)
        return hr__fault_nomem(fault, "a path");
    if (entry->kind != HR_ENTRY_FOLDER || entry->status) {
        enum hr_status status = add_entry(walk, path, entry, fault);
        free(path);
        return status;
    }
    if (!hr__array_reserve(&walk->folders, &walk->capacity, walk->count + 1, sizeof *walk->folders, FOLDERS_MAX)) {
        free(path);
        return hr__fault_nomem(fault, "the card's folders");
    }
    walk->folders[walk->count++] = path;
    return HR_OK;
}

/* One entry that cannot be asked about is asked for the card itself: once a folder, not once an entry. */
static enum hr_status check_present(const struct walk *walk, const struct hr_entry *entries, size_t count,
                                    struct hr_fault *fault)
{
    for (size_t i = 0; i < count; i++)
        if (entries[i].status)
            return hr__card_blame(walk->card, entries[i].status, fault) == HR_GONE ? HR_GONE : HR_OK;
    return HR_OK;
}

/* A folder that cannot be listed is one entry that cannot be read, unless it is the card itself that is gone. */
static enum hr_status skip_folder(struct walk *walk, const char *folder, enum hr_status status, struct hr_fault *cause,
                                  struct hr_fault *fault)
{
    status = hr__card_blame(walk->card, status, cause);
    if (status == HR_GONE || status == HR_NOMEM || !*folder)
        return hr__card_pass_on(fault, status, cause);
    return hr__draft_add_skip(walk->draft, folder, HR_SKIP_UNREADABLE, status, fault);
}

static enum hr_status list_folder(struct walk *walk, const char *folder, struct hr_fault *fault)
{
    struct hr_entry *entries = NULL;
    size_t count = 0;
    struct hr_fault cause = {0};
    enum hr_status status = hr__folder_list(&entries, &count, &walk->card->root, folder, ENTRIES_MAX, &cause);
    if (status)
        return skip_folder(walk, folder, status, &cause, fault);
    hr__draft_note_folder(walk->draft, folder);
    status = check_present(walk, entries, count, fault);
    for (size_t i = 0; i < count && !status; i++)
        status = take_entry(walk, folder, &entries[i], fault);
    hr__entries_free(entries, count);
    return status;
}

static enum hr_status walk_volume(struct hr_inventory_draft *draft, const struct hr_card *card,
                                  const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct walk walk = {.draft = draft, .card = card};
    enum hr_status status = list_folder(&walk, "", fault);
    while (walk.count > 0 && !status) {
        char *folder = walk.folders[--walk.count];
        status = hr_cancel_requested(cancel) ? HR_CANCELLED : list_folder(&walk, folder, fault);
        free(folder);
    }
    for (size_t i = 0; i < walk.count; i++)
        free(walk.folders[i]);
    free(walk.folders);
    return status;
}

/* ---- The stream ---- */

struct volume_stream {
    const struct hr_card *card;
    const struct hr_card_file *wanted;
    struct hr_file file;
    uint64_t offset;
    bool reached_end;
};

static enum hr_status open_stream(void **stream, const struct hr_card *card, struct hr_fault *fault)
{
    struct volume_stream *made = calloc(1, sizeof *made);
    if (!made)
        return hr__fault_nomem(fault, "a reader");
    made->card = card;
    made->file = HR_FILE_CLOSED;
    *stream = made;
    return HR_OK;
}

static void close_stream(void *stream)
{
    struct volume_stream *volume = stream;
    (void)hr__file_close(&volume->file, NULL);
    free(volume);
}

static enum hr_status check_unchanged(struct volume_stream *stream, struct hr_fault *fault)
{
    struct hr_file_facts facts;
    enum hr_status status = hr__file_facts(&facts, &stream->file, fault);
    if (status)
        return hr__card_blame(stream->card, status, fault);
    if (facts.size_bytes != stream->wanted->size_bytes || facts.modified_ns != stream->wanted->modified_ns)
        return hr__fault_about(fault, HR_DIFFERS, stream->wanted->path,
                               "changed on the card meanwhile; is the camera still writing?");
    return HR_OK;
}

static enum hr_status start(void *state, const struct hr_card_file *file, bool past_cache, struct hr_fault *fault)
{
    struct volume_stream *stream = state;
    (void)hr__file_close(&stream->file, NULL);
    stream->wanted = file;
    stream->offset = 0;
    stream->reached_end = false;
    enum hr_status status =
        hr__file_open(&stream->file, &stream->card->root, file->path, HR_FILE_READ, past_cache, file->path, fault);
    if (status)
        return hr__card_blame(stream->card, status, fault);
    if (past_cache) /* where the volume does not take direct reads, what is cached must go */
        hr__file_drop_cache(&stream->file);
    else
        hr__file_will_stream(&stream->file);
    return check_unchanged(stream, fault);
}

static enum hr_status read_some(size_t *got, void *state, void *into, size_t size, struct hr_fault *fault)
{
    struct volume_stream *stream = state;
    *got = 0;
    if (stream->reached_end)
        return HR_OK;
    enum hr_status status = hr__file_read_at(got, &stream->file, into, size, stream->offset, fault);
    if (status)
        return hr__card_blame(stream->card, status, fault);
    stream->offset += *got;
    stream->reached_end = *got < size;
    if (stream->offset > stream->wanted->size_bytes) /* a file that goes on growing would never end */
        return check_unchanged(stream, fault);
    return HR_OK;
}

static enum hr_status end(void *state, struct hr_fault *fault)
{
    struct volume_stream *stream = state;
    enum hr_status status = check_unchanged(stream, fault);
    if (!status && stream->offset != stream->wanted->size_bytes)
        status =
            hr__fault_about(fault, HR_DIFFERS, stream->wanted->path, "gave another number of bytes than its size says");
    (void)hr__file_close(&stream->file, NULL);
    return status;
}

const struct hr_card_store hr__store_volume = {
    .walk = walk_volume,
    .stream_open = open_stream,
    .stream_close = close_stream,
    .start = start,
    .read = read_some,
    .end = end,
};
