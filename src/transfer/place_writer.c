/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "platform/clock.h"
#include "transfer/place.h"

/* What ends a wait without a word is seen by looking. */
static const int64_t look_again_ns = HR_NS_PER_S / 10;

/* The item of one feed that is being written. Zeroed: none. */
struct writing {
    bool has_begun, was_made; /* the latter: the file stands */
    uint32_t item;
    struct hr_file file;
    char *part_path;
    unsigned epoch;
    struct hr_fault fault; /* the first thing that went wrong */
};

struct writer {
    struct hr_place *place;
    struct writing now[HR_FEEDS_MAX];
    struct hr_place_folder at[HR_FEEDS_MAX];
};

static enum hr_status open_part(struct writer *writer, const struct hr_piece *piece, struct writing *now)
{
    struct hr_place *place = writer->place;
    struct hr_place_folder *at = &writer->at[piece->feed];
    if (!now->part_path)
        return hr__fault_nomem(&now->fault, "a file's name");
    enum hr_status status = hr__place_folder_enter(at, place, now->part_path, true, &now->fault);
    if (status)
        return status;
    status = hr__file_open(&now->file, &at->folder, hr__path_last(now->part_path), HR_FILE_CREATE,
                           hr__place_writes_direct(place, piece->item), now->part_path, &now->fault);
    now->was_made = status == HR_OK;
    return status;
}

static void begin(struct writer *writer, const struct hr_piece *piece)
{
    struct hr_place *place = writer->place;
    struct writing *now = &writer->now[piece->feed];
    *now = (struct writing){.has_begun = true, .item = piece->item, .file = HR_FILE_CLOSED};
    now->part_path = hr__place_part_path(place, piece->item);
    hr__lock_take(&place->lock);
    now->epoch = place->sync_epoch;
    hr__lock_drop(&place->lock);
    (void)open_part(writer, piece, now); /* what went wrong stands in its fault */
}

static void tell_pace(struct hr_place *place)
{
    hr__lock_take(&place->lock);
    hr__pace_saw_write(&place->pace, hr__clock_now_ns());
    hr__signal_all(&place->changed); /* the prover may wait for this */
    hr__lock_drop(&place->lock);
}

static void write_piece(struct writer *writer, const struct hr_piece *piece)
{
    struct hr_place *place = writer->place;
    struct writing *now = &writer->now[piece->feed];
    if (hr__file_write_at(&now->file, piece->block->bytes + piece->start, piece->size, piece->offset, &now->fault))
        return;
    atomic_fetch_add(&place->written.bytes, piece->size);
    tell_pace(place);
}

/* A drive that small files were only kept in memory for would be idle until they are synced. */
static void complete(struct hr_place *place, struct writing *now)
{
    enum hr_status status =
        hr__file_set_modified(&now->file, place->engine->job->items[now->item].file->modified_ns, &now->fault);
    if (!status && !hr__place_writes_direct(place, now->item))
        hr__file_start_writing(&now->file);
    if (!status && place->syncs_each_file)
        status = hr__file_sync(&now->file, &now->fault);
    (void)hr__file_close(&now->file, status ? NULL : &now->fault);
}

/* The prover is woken when there is a batch for it, or to look at the clock for the first of one. */
static enum hr_status hand_to_prover(struct hr_place *place, const struct hr_pending_copy *what,
                                     const unsigned char *xxh128, struct hr_fault *fault)
{
    struct hr_pending_copy *copy = malloc(sizeof *copy);
    if (!copy)
        return hr__fault_nomem(fault, "a copy's record");
    *copy = *what;
    memcpy(copy->xxh128, xxh128, sizeof copy->xxh128);
    uint64_t size = place->engine->job->items[copy->item].file->size_bytes;
    atomic_fetch_add(&place->written.files, 1);
    hr__lock_take(&place->lock);
    bool is_first = !place->waiting.first;
    if (is_first)
        place->waiting_since_ns = hr__clock_now_ns();
    hr__copy_list_push(&place->waiting, copy, size);
    place->handed_bytes += size;
    if (!copy->is_adopted && !hr__place_writes_direct(place, copy->item))
        place->cached_bytes += size;
    if (is_first || hr__place_batch_is_full_locked(place))
        hr__signal_all(&place->changed);
    hr__lock_drop(&place->lock);
    return HR_OK;
}

/* The page cache gets one batch of small files while another is synced and no more: so memory is bounded, and what is
 * written is what the drive has done or is about to. */
static void wait_for_sync(struct hr_place *place)
{
    hr__lock_take(&place->lock);
    while (hr__place_cache_is_full_locked(place) && !hr__place_is_stopped(place))
        hr__signal_wait_until(&place->changed, &place->lock, hr__clock_now_ns() + look_again_ns);
    hr__lock_drop(&place->lock);
}

static void fail(struct hr_place *place, uint32_t item, const struct hr_fault *fault)
{
    hr__place_judge(place, fault->status, fault);
    hr__place_copy_failed(place, item, false, fault);
}

/* Whatever is left of a copy that will not be. Failing to remove it loses nothing: a re-run clears it. */
static void abandon(struct hr_place *place, struct writing *now)
{
    (void)hr__file_close(&now->file, NULL);
    if (now->was_made)
        (void)hr__folder_remove(&place->root, now->part_path, NULL);
}

static void end(struct writer *writer, const struct hr_piece *piece)
{
    struct hr_place *place = writer->place;
    struct writing *now = &writer->now[piece->feed];
    struct hr_pending_copy copy = {.item = piece->item, .epoch = now->epoch};
    bool is_wanted = !piece->status && !hr__place_has_failed(place);
    if (is_wanted && !now->fault.status)
        complete(place, now);
    if (is_wanted && !now->fault.status)
        (void)hand_to_prover(place, &copy, piece->xxh128, &now->fault); /* it stands in the fault, as all that failed */
    if (!is_wanted || now->fault.status)
        abandon(place, now);
    wait_for_sync(place);
    if (is_wanted && now->fault.status)
        fail(place, piece->item, &now->fault);
    free(now->part_path);
    *now = (struct writing){.file = HR_FILE_CLOSED};
}

static void take_piece(struct writer *writer, const struct hr_piece *piece)
{
    struct hr_place *place = writer->place;
    struct writing *now = &writer->now[piece->feed];
    if (place->engine->job->items[piece->item].copies[place->index].state == HR_COPY_UNPROVEN) {
        const struct hr_pending_copy copy = {.item = piece->item, .is_adopted = true};
        struct hr_fault fault = {0};
        if (piece->is_last && !piece->status && hand_to_prover(place, &copy, piece->xxh128, &fault))
            fail(place, piece->item, &fault);
        return;
    }
    if (!now->has_begun && !piece->status && !hr__place_has_failed(place))
        begin(writer, piece);
    if (piece->block && !now->fault.status && !hr__place_has_failed(place))
        write_piece(writer, piece);
    if (piece->block)
        hr__block_pool_release(&place->engine->pool, piece->block);
    if (piece->is_last)
        end(writer, piece);
}

/* Waiting for the card is the prover's chance to read back undisturbed, so it is told. */
static void tell_idle(struct hr_place *place)
{
    hr__lock_take(&place->lock);
    atomic_store(&place->is_writing, false);
    place->idle_since_ns = hr__clock_now_ns();
    hr__signal_all(&place->changed);
    hr__lock_drop(&place->lock);
}

static void tell_busy(struct hr_place *place)
{
    hr__lock_take(&place->lock);
    atomic_store(&place->is_writing, true);
    place->idle_ns += hr__clock_now_ns() - place->idle_since_ns;
    place->idle_since_ns = 0;
    hr__lock_drop(&place->lock);
}

static bool next_piece(struct hr_place *place, struct hr_piece *piece)
{
    if (!place->idle_since_ns && hr__piece_queue_bytes(&place->queue) == 0)
        tell_idle(place);
    bool got = hr__piece_queue_pop(&place->queue, piece);
    if (got && place->idle_since_ns)
        tell_busy(place);
    return got;
}

void hr__place_writer_run(void *argument)
{
    struct hr_place *place = argument;
    struct writer writer = {.place = place};
    struct hr_piece piece;
    for (size_t i = 0; i < HR_FEEDS_MAX; i++) {
        writer.now[i].file = HR_FILE_CLOSED;
        writer.at[i] = HR_PLACE_FOLDER_CLOSED;
    }
    while (next_piece(place, &piece))
        take_piece(&writer, &piece);
    for (size_t i = 0; i < HR_FEEDS_MAX; i++)
        hr__place_folder_leave(&writer.at[i]);
    hr__lock_take(&place->lock);
    place->input_has_ended = true;
    hr__signal_all(&place->changed);
    hr__lock_drop(&place->lock);
    hr__event_thread_ends(&place->engine->events);
}
