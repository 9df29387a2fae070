/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "platform/clock.h"
#include "transfer/place.h"

/* The item being written. Zeroed: none. */
struct writing {
    bool has_begun;
    uint32_t item;
    struct hr_file file;
    char *part_path;
    unsigned epoch;
    enum hr_status status; /* of the first thing that went wrong */
    struct hr_fault fault;
};

struct writer {
    struct hr_place *place;
    struct writing now;
    char *last_folder; /* made already */
};

static enum hr_status make_folder(struct writer *writer, const char *path, struct hr_fault *fault)
{
    size_t length = hr__path_folder_length(path);
    if (writer->last_folder && strlen(writer->last_folder) == length && !memcmp(writer->last_folder, path, length))
        return HR_OK;
    char *folder = strndup(path, length);
    if (!folder)
        return hr__fault_nomem(fault, "a folder's name");
    enum hr_status status = hr__folder_make(&writer->place->root, folder, fault);
    free(writer->last_folder);
    writer->last_folder = status ? NULL : folder;
    if (status)
        free(folder);
    return status;
}

static enum hr_status begin(struct writer *writer, uint32_t item)
{
    struct hr_place *place = writer->place;
    struct writing *now = &writer->now;
    *now = (struct writing){.has_begun = true, .item = item, .file = HR_FILE_CLOSED};
    now->part_path = hr__place_part_path(place, item);
    hr__lock_take(&place->lock);
    now->epoch = place->sync_epoch;
    hr__lock_drop(&place->lock);
    if (!now->part_path)
        return hr__fault_nomem(&now->fault, "a file's name");
    enum hr_status status = make_folder(writer, now->part_path, &now->fault);
    if (status)
        return status;
    bool direct = place->engine->job->items[item].file->size_bytes >= HR_DIRECT_FROM_BYTES;
    return hr__file_open(&now->file, &place->root, now->part_path, HR_FILE_CREATE, direct, now->part_path, &now->fault);
}

static enum hr_status write_piece(struct writer *writer, const struct hr_piece *piece)
{
    struct hr_place *place = writer->place;
    struct writing *now = &writer->now;
    size_t size = piece->size;
    if (now->file.direct)
        size = (size + HR_DIRECT_ALIGNMENT - 1) / HR_DIRECT_ALIGNMENT * HR_DIRECT_ALIGNMENT;
    bool was_shared = atomic_load(&place->is_reading_back), is_backed_up = hr__piece_queue_count(&place->queue) > 0;
    int64_t began_ns = hr__clock_now_ns();
    enum hr_status status = hr__file_write_at(&now->file, piece->block->bytes, size, piece->offset, &now->fault);
    int64_t ended_ns = hr__clock_now_ns();
    if (!status && now->file.direct) {
        hr__lock_take(&place->lock);
        hr__pace_saw_write(&place->pace, size, ended_ns - began_ns, was_shared, is_backed_up, ended_ns);
        hr__lock_drop(&place->lock);
    }
    if (!status)
        atomic_fetch_add(&place->written.bytes, piece->size);
    return status;
}

static enum hr_status complete(struct writer *writer, uint64_t size)
{
    struct writing *now = &writer->now;
    struct hr_place *place = writer->place;
    enum hr_status status = HR_OK;
    if (now->file.direct && size % HR_DIRECT_ALIGNMENT)
        status = hr__file_truncate(&now->file, size, &now->fault);
    if (!status)
        status = hr__file_set_modified(&now->file, place->engine->job->items[now->item].file->modified_ns, &now->fault);
    if (!status && place->syncs_each_file)
        status = hr__file_sync(&now->file, &now->fault);
    enum hr_status closed = hr__file_close(&now->file, &now->fault);
    return status ? status : closed;
}

static void hand_to_prover(struct hr_place *place, const struct hr_pending_copy *what, const struct hr_digest *xxh128)
{
    struct hr_pending_copy *copy = malloc(sizeof *copy);
    struct hr_fault fault = {0};
    if (!copy) {
        hr__place_copy_failed(place, what->item, hr__fault_nomem(&fault, "a copy's record"), &fault);
        return;
    }
    *copy = *what;
    memcpy(copy->xxh128, xxh128->bytes, sizeof copy->xxh128);
    atomic_store(&place->is_durable, false);
    atomic_fetch_add(&place->written.files, 1);
    hr__lock_take(&place->lock);
    if (!place->waiting.first)
        place->waiting_since_ns = hr__clock_now_ns();
    hr__copy_list_push(&place->waiting, copy, place->engine->job->items[copy->item].file->size_bytes);
    hr__signal_all(&place->changed);
    hr__lock_drop(&place->lock);
}

/* Whatever is left of a copy that will not be. Failing to remove it loses nothing: a re-run clears it. */
static void abandon(struct writer *writer)
{
    struct writing *now = &writer->now;
    bool was_made = now->file.descriptor >= 0;
    (void)hr__file_close(&now->file, NULL);
    if (was_made)
        (void)hr__folder_remove(&writer->place->root, now->part_path, NULL);
}

static void end(struct writer *writer, const struct hr_piece *piece)
{
    struct hr_place *place = writer->place;
    struct writing *now = &writer->now;
    if (place->engine->job->items[piece->item].copies[place->index].state == HR_COPY_UNPROVEN) {
        if (!piece->status)
            hand_to_prover(place, &(struct hr_pending_copy){.item = piece->item, .is_adopted = true}, &piece->xxh128);
        return;
    }
    if (!piece->status && !now->has_begun) /* an empty file has no pieces */
        now->status = begin(writer, piece->item);
    if (!piece->status && !now->status && !hr__place_has_failed(place))
        now->status = complete(writer, piece->offset);
    if (piece->status || now->status || hr__place_has_failed(place))
        abandon(writer);
    else
        hand_to_prover(place, &(struct hr_pending_copy){.item = piece->item, .epoch = now->epoch}, &piece->xxh128);
    if (!piece->status && now->status) {
        hr__place_judge(place, now->status, &now->fault);
        hr__place_copy_failed(place, piece->item, now->status, &now->fault);
    }
    free(now->part_path);
    *now = (struct writing){.file = HR_FILE_CLOSED};
}

static void take_piece(struct writer *writer, const struct hr_piece *piece)
{
    struct hr_place *place = writer->place;
    struct writing *now = &writer->now;
    if (!piece->block) {
        end(writer, piece);
        return;
    }
    if (!hr__place_has_failed(place)) {
        if (!now->has_begun)
            now->status = begin(writer, piece->item);
        if (!now->status)
            now->status = write_piece(writer, piece);
    }
    hr__block_pool_release(&place->engine->pool, piece->block);
}

/* Waiting for the card is the prover's chance to read back undisturbed, so it is told. */
static bool next_piece(struct hr_place *place, struct hr_piece *piece)
{
    if (hr__piece_queue_count(&place->queue) == 0) {
        hr__lock_take(&place->lock);
        atomic_store(&place->is_writing, false);
        hr__signal_all(&place->changed);
        hr__lock_drop(&place->lock);
    }
    bool got = hr__piece_queue_pop(&place->queue, piece);
    atomic_store(&place->is_writing, got);
    return got;
}

void hr__place_writer_run(void *argument)
{
    struct hr_place *place = argument;
    struct writer writer = {.place = place, .now = {.file = HR_FILE_CLOSED}};
    struct hr_piece piece;
    while (next_piece(place, &piece))
        take_piece(&writer, &piece);
    free(writer.last_folder);
    hr__lock_take(&place->lock);
    place->input_has_ended = true;
    hr__signal_all(&place->changed);
    hr__lock_drop(&place->lock);
    hr__event_thread_ends(&place->engine->events);
}
