/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "platform/clock.h"
#include "transfer/fetch_ahead.h"

/* A writer that ends without a word, or has long had nothing to do, is seen by looking. */
static const int64_t look_again_ns = HR_NS_PER_S / 10;

/* What a place had done at a moment. */
struct mark {
    uint64_t written_bytes, read_bytes;
    int64_t idle_ns, at_ns;
};

struct prover {
    struct hr_place *place;
    struct mark last_sync;
    struct hr_read_back read_back;
    struct hr_place_folder at;
    struct hr_copy_list durable, renamed;
    int64_t renamed_since_ns;    /* the first of `renamed` */
    struct hr_fetch_ahead ahead; /* of `durable` */
};

static uint64_t size_of(const struct hr_place *place, const struct hr_pending_copy *copy)
{
    return place->engine->job->items[copy->item].file->size_bytes;
}

/* Removes what stands under the temporary name; failing loses nothing, a re-run clears it. */
static void drop_part(struct hr_place *place, const struct hr_pending_copy *copy)
{
    char *part = copy->is_adopted ? NULL : hr__place_part_path(place, copy->item);
    if (part)
        (void)hr__folder_remove(&place->root, part, NULL);
    free(part);
}

/* A word for each run of copies of one card. */
static void tell_durable(struct hr_place *place, const struct hr_copy_list *batch)
{
    const struct hr_transfer_item *items = place->engine->job->items;
    struct hr_event event = {.kind = HR_POSTED_DURABLE, .sink = place->index};
    for (const struct hr_pending_copy *copy = batch->first; copy; copy = copy->next) {
        atomic_fetch_add(&place->durable.files, 1);
        atomic_fetch_add(&place->durable.bytes, copy->is_adopted ? 0 : size_of(place, copy));
        event.card = items[copy->item].card;
        event.count++;
        if (!copy->next || items[copy->next->item].card != event.card) {
            hr__event_post(&place->engine->events, &event, NULL);
            event.count = 0;
        }
    }
}

static struct mark mark_locked(const struct hr_place *place)
{
    struct mark mark = {.written_bytes = atomic_load(&place->written.bytes),
                        .read_bytes = atomic_load(&place->read_back_bytes),
                        .idle_ns = place->idle_ns,
                        .at_ns = hr__clock_now_ns()};
    if (place->idle_since_ns)
        mark.idle_ns += mark.at_ns - place->idle_since_ns;
    return mark;
}

/* What was done since the sync before this one is what the pace judges by. */
static void end_spell(struct prover *prover)
{
    struct hr_place *place = prover->place;
    struct mark from = prover->last_sync;
    hr__lock_take(&place->lock);
    struct mark to = prover->last_sync = mark_locked(place);
    struct hr_pace_spell spell = {.written_bytes = (double)(to.written_bytes - from.written_bytes),
                                  .read_bytes = (double)(to.read_bytes - from.read_bytes),
                                  .seconds = (double)(to.at_ns - from.at_ns) / HR_NS_PER_S,
                                  .idle_seconds = (double)(to.idle_ns - from.idle_ns) / HR_NS_PER_S};
    hr__pace_saw_spell(&place->pace, &spell, to.at_ns);
    hr__lock_drop(&place->lock);
}

/* Where the volume cannot be synced as one, each folder that got a name is, and what leads to it: the folder itself may
 * be new. */
static enum hr_status sync_names(struct prover *prover, struct hr_fault *fault)
{
    struct hr_place *place = prover->place;
    char *last = NULL;
    enum hr_status status = HR_OK;
    if (!place->syncs_each_file)
        return hr__folder_sync_volume(&place->root, fault);
    for (struct hr_pending_copy *copy = prover->renamed.first; copy && !status; copy = copy->next) {
        char *folder = hr__place_final_path(place, copy->item);
        if (folder)
            folder[hr__path_folder_length(folder)] = '\0';
        if (folder && (!last || strcmp(last, folder) != 0))
            status = hr__folder_sync_way(&place->root, folder, last, fault);
        if (!folder)
            status = hr__fault_nomem(fault, "a folder's name");
        free(last);
        last = folder;
    }
    free(last);
    return status;
}

/* Step 3: the new names are durable, and the copies settled. After a failure they keep the names, which hold right
 * bytes; only nothing is promised of them: a re-run reads them back under their final names. */
static void settle_as(struct prover *prover, enum hr_status status, const struct hr_fault *fault)
{
    struct hr_place *place = prover->place;
    struct hr_pending_copy *copy;
    if (status && prover->renamed.first)
        hr__place_fail(place, fault);
    while ((copy = hr__copy_list_pop(&prover->renamed, place->engine->job->items))) {
        struct hr_event event = {
            .kind = HR_POSTED_PROVEN, .item = copy->item, .sink = place->index, .proof = copy->proof};
        if (!status) {
            atomic_fetch_add(&place->proven.bytes, size_of(place, copy));
            atomic_fetch_add(&place->proven.files, 1);
            hr__event_post(&place->engine->events, &event, NULL);
        }
        free(copy);
    }
}

static void settle(struct prover *prover)
{
    struct hr_fault fault = {0};
    settle_as(prover, sync_names(prover, &fault), &fault);
}

/* What was begun before a sync that failed may be what that one lost, whatever a later one says. `cause` is that of the
 * one that failed just now, or NULL. Not what an earlier run wrote: reading it back will tell. */
static void fail_what_was_lost(struct hr_place *place, struct hr_copy_list *batch, const struct hr_fault *cause)
{
    struct hr_copy_list right = {0};
    struct hr_pending_copy *copy;
    hr__lock_take(&place->lock);
    unsigned epoch = place->sync_epoch;
    hr__lock_drop(&place->lock);
    while ((copy = hr__copy_list_pop(batch, place->engine->job->items))) {
        if (copy->is_adopted || copy->epoch == epoch) {
            hr__copy_list_push(&right, copy, size_of(place, copy));
            continue;
        }
        struct hr_fault fault = {0};
        if (cause)
            fault = *cause;
        else
            hr__fault_about(&fault, HR_IO, place->engine->job->items[copy->item].file->path,
                            "the drive lost writes while this was being written");
        drop_part(place, copy);
        hr__place_copy_failed(place, copy->item, false, &fault);
        free(copy);
    }
    *batch = right;
}

/* Step 1: what waits becomes durable, and, where that is one sync for all of the volume, what was renamed before. A
 * failed sync speaks for everything begun before it, in this batch or still being written, and is never asked again
 * (DESIGN: an error from fsync fails the file for good). */
static void sync_waiting(struct prover *prover)
{
    struct hr_place *place = prover->place;
    struct hr_fault fault = {0};
    hr__lock_take(&place->lock);
    struct hr_copy_list batch = place->waiting;
    place->waiting = (struct hr_copy_list){0};
    place->cached_bytes = 0;
    hr__signal_all(&place->changed);
    hr__lock_drop(&place->lock);
    enum hr_status status = place->syncs_each_file ? HR_OK : hr__folder_sync_volume(&place->root, &fault);
    hr__lock_take(&place->lock);
    place->sync_epoch += status ? 1 : 0;
    hr__lock_drop(&place->lock);
    if (status)
        hr__place_judge(place, status, &fault);
    fail_what_was_lost(place, &batch, status ? &fault : NULL);
    if (!place->syncs_each_file)
        settle_as(prover, status, &fault);
    tell_durable(place, &batch);
    hr__copy_list_move(&prover->durable, &batch);
    end_spell(prover);
}

static bool have_names_waited_locked(const struct prover *prover, int64_t now_ns)
{
    return prover->renamed.first && now_ns >= prover->renamed_since_ns + hr__pace_batch(&prover->place->pace).age_ns;
}

/* Between two files. Names become durable with the bytes that wait for a sync, where some do. */
static bool are_names_ripe_locked(const struct prover *prover, int64_t now_ns)
{
    const struct hr_place *place = prover->place;
    if (have_names_waited_locked(prover, now_ns))
        return true;
    if (!prover->renamed.first || (place->waiting.first && !place->syncs_each_file))
        return false;
    return prover->renamed.count >= hr__pace_batch(&place->pace).files || !prover->durable.first;
}

static bool is_ripe_locked(const struct hr_place *place, int64_t now_ns)
{
    return place->waiting.first &&
           (place->input_has_ended || now_ns >= place->waiting_since_ns + hr__pace_batch(&place->pace).age_ns ||
            hr__place_batch_is_full_locked(place));
}

/* Reading may have to wait long, and what waits for a sync meanwhile holds the card. */
static bool take_turn(void *context)
{
    struct prover *prover = context;
    struct hr_place *place = prover->place;
    while (!hr__place_is_stopped(place)) {
        hr__lock_take(&place->lock);
        int64_t now_ns = hr__clock_now_ns();
        bool is_ripe = is_ripe_locked(place, now_ns), are_names_ripe = have_names_waited_locked(prover, now_ns);
        bool may_read = hr__place_may_read_back_locked(place, now_ns);
        if (!is_ripe && !are_names_ripe && !may_read)
            hr__signal_wait_until(&place->changed, &place->lock, now_ns + look_again_ns);
        hr__lock_drop(&place->lock);
        if (is_ripe)
            sync_waiting(prover);
        else if (are_names_ripe)
            settle(prover);
        else if (may_read)
            return true;
    }
    return false;
}

/* Under a final name stands what cannot be read, where the copy is to come. */
static bool is_in_the_way(const struct hr_pending_copy *copy, enum hr_status status)
{
    return copy->is_adopted && (status == HR_IO || status == HR_DENIED || status == HR_UNSUPPORTED);
}

/* `fetched`: what was read of it already; or NULL. */
static enum hr_status compare(struct prover *prover, struct hr_pending_copy *copy, const struct hr_digest *fetched,
                              const char *path, struct hr_fault *fault)
{
    struct hr_place *place = prover->place;
    struct hr_digest digest;
    enum hr_proof proof = HR_PROOF_DIRECT;
    enum hr_status status = hr__place_folder_enter(&prover->at, place, path, false, fault);
    if (status)
        return status;
    if (fetched)
        digest = *fetched;
    else
        status = hr__read_back_file(&digest, &proof, &prover->read_back, &prover->at.folder, path, size_of(place, copy),
                                    fault);
    copy->proof = (uint8_t)proof;
    if (status == HR_OK && memcmp(digest.bytes, copy->xxh128, sizeof copy->xxh128) != 0)
        status = HR_DIFFERS;
    bool is_blocking = is_in_the_way(copy, status);
    if (status != HR_DIFFERS && !is_blocking)
        return status;
    if (is_blocking) {
        hr__place_judge(place, status, fault);
        if (hr__place_has_failed(place))
            return status;
    }
    hr_fault_clear(fault);
    return hr__place_set_aside(place, copy->item, path,
                               is_blocking ? "cannot be read back" : "reads back different from the card", fault);
}

/* Step 2: one copy is read back, compared, and given its final name. */
static enum hr_status prove(struct prover *prover, struct hr_pending_copy *copy, const struct hr_digest *fetched,
                            struct hr_fault *fault)
{
    struct hr_place *place = prover->place;
    char *final = hr__place_final_path(place, copy->item);
    char *part = copy->is_adopted ? NULL : hr__place_part_path(place, copy->item);
    enum hr_status status = HR_OK;
    if (!final || (!part && !copy->is_adopted))
        status = hr__fault_nomem(fault, "a file's name");
    if (!status)
        status = compare(prover, copy, fetched, part ? part : final, fault);
    if (!status && part)
        status = hr__folder_rename(&prover->at.folder, hr__path_last(part), hr__path_last(final), fault);
    free(part);
    free(final);
    return status;
}

static void prove_next(struct prover *prover)
{
    struct hr_place *place = prover->place;
    struct hr_digest fetched;
    bool is_fetched = hr__fetch_ahead_take(&fetched, &prover->ahead);
    struct hr_pending_copy *copy = hr__copy_list_pop(&prover->durable, place->engine->job->items);
    struct hr_fault fault = {0};
    enum hr_status status = prove(prover, copy, is_fetched ? &fetched : NULL, &fault);
    if (!status) {
        atomic_store(&place->io_failures, 0);
        if (!prover->renamed.first)
            prover->renamed_since_ns = hr__clock_now_ns();
        hr__copy_list_push(&prover->renamed, copy, size_of(place, copy));
        return;
    }
    drop_part(place, copy);
    if (status != HR_CANCELLED) {
        hr__place_judge(place, status, &fault);
        hr__place_copy_failed(place, copy->item, true, &fault);
    }
    free(copy);
}

enum step { STEP_SYNC, STEP_PROVE, STEP_SETTLE, STEP_END };

/* Waits until there is something to do, and says what. Syncing comes first, for it sets the card free. */
static enum step next_step(struct prover *prover)
{
    struct hr_place *place = prover->place;
    enum step step = STEP_END;
    hr__lock_take(&place->lock);
    for (;;) {
        int64_t now_ns = hr__clock_now_ns();
        if (is_ripe_locked(place, now_ns))
            step = STEP_SYNC;
        else if (are_names_ripe_locked(prover, now_ns))
            step = STEP_SETTLE;
        else if (prover->durable.first && hr__place_may_read_back_locked(place, now_ns))
            step = STEP_PROVE;
        else if (!place->input_has_ended) {
            hr__signal_wait_until(&place->changed, &place->lock, now_ns + look_again_ns);
            continue;
        }
        break;
    }
    hr__lock_drop(&place->lock);
    return step;
}

/* A stopped run or a dead place proves no more; what was renamed is still settled. */
static void give_up(struct prover *prover)
{
    struct hr_place *place = prover->place;
    hr__fetch_ahead_drop(&prover->ahead);
    hr__lock_take(&place->lock);
    hr__copy_list_move(&prover->durable, &place->waiting);
    hr__lock_drop(&place->lock);
    struct hr_pending_copy *copy;
    while ((copy = hr__copy_list_pop(&prover->durable, place->engine->job->items))) {
        drop_part(place, copy);
        free(copy);
    }
}

static void take_steps(struct prover *prover)
{
    struct hr_place *place = prover->place;
    for (enum step step = next_step(prover); step != STEP_END; step = next_step(prover)) {
        if (hr__place_is_stopped(place)) {
            give_up(prover);
            step = prover->renamed.first ? STEP_SETTLE : STEP_END;
        }
        if (step == STEP_SYNC)
            sync_waiting(prover);
        else if (step == STEP_PROVE)
            prove_next(prover);
        else if (step == STEP_SETTLE)
            settle(prover);
    }
}

void hr__place_prover_run(void *argument)
{
    struct hr_place *place = argument;
    struct prover prover = {.place = place, .at = HR_PLACE_FOLDER_CLOSED};
    struct hr_fault fault = {0};
    prover.read_back = (struct hr_read_back){.place = place, .take_turn = take_turn, .context = &prover};
    hr__lock_take(&place->lock);
    prover.last_sync = mark_locked(place);
    hr__lock_drop(&place->lock);
    enum hr_status status = hr__fetch_ahead_init(&prover.ahead, &prover.read_back, &prover.durable, &fault);
    if (hr__read_back_init(&prover.read_back, &fault) || status)
        hr__place_fail(place, &fault);
    take_steps(&prover);
    hr__fetch_ahead_finish(&prover.ahead);
    hr__place_folder_leave(&prover.at);
    hr__read_back_finish(&prover.read_back);
    hr__event_thread_ends(&place->engine->events);
}
