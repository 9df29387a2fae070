/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "platform/clock.h"
#include "platform/machine.h"
#include "transfer/place.h"

static enum hr_status start(struct hr_engine *engine, struct hr_thread *thread, const char *name, void (*body)(void *),
                            void *argument, struct hr_fault *fault)
{
    hr__event_thread_starts(&engine->events);
    enum hr_status status = hr__thread_start(thread, name, body, argument, fault);
    if (status)
        hr__event_thread_ends(&engine->events);
    return status;
}

/* One is enough: it reads all cards. */
static enum hr_status start_feeds(struct hr_engine *engine, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    size_t started = 0;
    atomic_store(&engine->feeds_reading, 1);
    while (started < engine->feed_count && !status) {
        atomic_fetch_add(&engine->feeds_reading, 1);
        status =
            start(engine, &engine->feeds[started].thread, "card", hr__card_feed_run, &engine->feeds[started], fault);
        if (status)
            hr__card_feed_ends(engine);
        else
            started++;
    }
    hr__card_feed_ends(engine);
    return started ? HR_OK : status;
}

/* Consumers first. When one cannot be started, the queues are closed so that those already running end. */
static enum hr_status start_threads(struct hr_engine *engine, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < engine->job->sink_count && !status; i++) {
        struct hr_place *place = &engine->places[i];
        status = start(engine, &place->prover, "prover", hr__place_prover_run, place, fault);
        if (!status)
            status = start(engine, &place->writer, "writer", hr__place_writer_run, place, fault);
    }
    for (size_t i = 0; i < engine->digester_count && !status; i++)
        status =
            start(engine, &engine->digesters[i].thread, "digest", hr__digest_worker_run, &engine->digesters[i], fault);
    return status ? status : start_feeds(engine, fault);
}

static void call_off(struct hr_engine *engine)
{
    for (size_t i = 0; i < engine->job->sink_count; i++) {
        struct hr_place *place = &engine->places[i];
        hr__piece_queue_close(&place->queue);
        if (place->writer.started)
            continue;
        hr__lock_take(&place->lock); /* a prover without its writer waits for the input's end */
        place->input_has_ended = true;
        hr__signal_all(&place->changed);
        hr__lock_drop(&place->lock);
    }
    for (size_t i = 0; i < engine->digester_count; i++)
        hr__piece_queue_close(&engine->digesters[i].queue);
}

static enum hr_status run_pass(struct hr_engine *engine, struct hr_fault *fault)
{
    hr__card_turns_rewind(&engine->turns);
    for (size_t i = 0; i < engine->job->sink_count; i++)
        hr__place_rewind(&engine->places[i]);
    for (size_t i = 0; i < engine->digester_count; i++)
        engine->digesters[i].queue.closed = false;
    enum hr_status status = start_threads(engine, fault);
    if (status)
        call_off(engine);
    hr__attend(engine);
    for (size_t i = 0; i < engine->feed_count; i++)
        hr__thread_join(&engine->feeds[i].thread);
    for (size_t i = 0; i < engine->job->sink_count; i++) {
        hr__thread_join(&engine->places[i].writer);
        hr__thread_join(&engine->places[i].prover);
    }
    for (size_t i = 0; i < engine->digester_count; i++)
        hr__thread_join(&engine->digesters[i].thread);
    return status;
}

static bool is_open(const struct hr_copy *copy)
{
    return copy->state == HR_COPY_WANTED || copy->state == HR_COPY_UNPROVEN;
}

/* Something that failed in this pass and may work in another: a file, not a place, and its card is still there. */
static bool is_worth_another_pass(const struct hr_engine *engine)
{
    if (hr_cancel_requested(engine->cancel) || atomic_load(&engine->gate_is_shut))
        return false;
    for (size_t i = 0; i < engine->job->item_count; i++) {
        const struct hr_transfer_item *item = &engine->job->items[i];
        if (atomic_load(&engine->card_is_gone[item->card]))
            continue;
        if (engine->job->sink_count == 0 && item->status != HR_OK)
            return true;
        for (size_t s = 0; s < engine->job->sink_count; s++)
            if (is_open(&item->copies[s]) && !hr__place_has_failed(&engine->places[s]))
                return true;
    }
    return false;
}

/* A card that is being pulled fails file by file before the system knows that it is gone: it gets the time. */
static void let_cards_go(const struct hr_engine *engine)
{
    const int64_t a_moment_ns = 3 * HR_NS_PER_S / 10;
    for (size_t i = 0; i < engine->job->item_count; i++)
        if (engine->job->items[i].status == HR_IO) {
            hr__clock_sleep_ns(a_moment_ns);
            return;
        }
}

static enum hr_status run_passes(struct hr_engine *engine, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (engine->attempt = 1; engine->attempt <= HR_ATTEMPTS && !status; engine->attempt++) {
        status = run_pass(engine, fault);
        if (engine->attempt == HR_ATTEMPTS || !is_worth_another_pass(engine))
            break;
        let_cards_go(engine);
    }
    hr__tell_end(engine);
    if (!status && engine->events.lost)
        status = hr__fault_nomem(fault, "the transfer's events");
    for (size_t i = 0; i < engine->job->card_count && !status; i++)
        if (engine->job->cards[i].status == HR_NOMEM)
            status = hr__fault_nomem(fault, "reading a card");
    if (!status && hr_cancel_requested(engine->cancel))
        status = HR_CANCELLED;
    return status;
}

static enum hr_status init_digester(struct hr_digest_worker *worker, struct hr_engine *engine, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    worker->engine = engine;
    hr__piece_queue_init(&worker->queue);
    for (size_t feed = 0; feed < engine->feed_count && !status; feed++)
        status = hr_hasher_create(&worker->hashers[feed], HR_DIGEST_SHA256, fault);
    return status;
}

static enum hr_status init_digesters(struct hr_engine *engine, struct hr_fault *fault)
{
    size_t count = hr__digest_worker_count();
    enum hr_status status = HR_OK;
    if (!engine->job->make_sha256)
        return HR_OK;
    engine->digesters = calloc(count, sizeof *engine->digesters);
    if (!engine->digesters)
        return hr__fault_nomem(fault, "the digest workers");
    while (engine->digester_count < count && !status)
        status = init_digester(&engine->digesters[engine->digester_count++], engine, fault);
    return status;
}

static void start_job(struct hr_transfer_job *job)
{
    for (size_t i = 0; i < job->card_count; i++)
        job->cards[i].status = HR_CANCELLED;
    for (size_t i = 0; i < job->item_count; i++) {
        job->items[i].status = HR_CANCELLED;
        job->items[i].read_at_ns = 0;
        job->items[i].read_ns = 0;
        job->items[i].xxh128 = (struct hr_digest){0};
        job->items[i].sha256 = (struct hr_digest){0};
    }
    for (size_t i = 0; i < job->sink_count; i++) {
        job->sinks[i].status = HR_OK;
        job->sinks[i].policy[0] = '\0';
        hr_fault_clear(&job->sinks[i].fault);
    }
}

static void find_part_names(struct hr_engine *engine)
{
    for (size_t i = 0; i < engine->job->item_count; i++) {
        const struct hr_transfer_item *item = &engine->job->items[i];
        unsigned dots = hr__part_dots(item->file->path), *most = &engine->part_dots[item->card];
        *most = dots > *most ? dots : *most;
    }
}

static void init_feeds(struct hr_engine *engine)
{
    size_t count = engine->job->cards_at_once;
    if (count > engine->job->card_count)
        count = engine->job->card_count;
    if (count > HR_FEEDS_MAX)
        count = HR_FEEDS_MAX;
    engine->feed_count = count ? count : 1;
    for (size_t i = 0; i < engine->feed_count; i++) {
        engine->feeds[i].engine = engine;
        engine->feeds[i].index = (uint8_t)i;
    }
}

/* A place that cannot even be opened is a failed sink, not a failed run. */
static enum hr_status open_places(struct hr_engine *engine, struct hr_fault *fault)
{
    engine->places = calloc(engine->job->sink_count + 1, sizeof *engine->places);
    if (!engine->places)
        return hr__fault_nomem(fault, "the places");
    for (size_t i = 0; i < engine->job->sink_count; i++) {
        struct hr_fault cause = {0};
        if (hr__place_init(&engine->places[i], engine, i, &cause))
            hr__place_fail(&engine->places[i], &cause);
    }
    return HR_OK;
}

static void finish(struct hr_engine *engine)
{
    for (size_t i = 0; engine->places && i < engine->job->sink_count; i++) {
        if (engine->places[i].engine)
            hr__pace_describe(engine->job->sinks[i].policy, sizeof engine->job->sinks[i].policy,
                              &engine->places[i].pace);
        hr__place_finish(&engine->places[i]);
    }
    for (size_t i = 0; i < engine->digester_count; i++) {
        hr__piece_queue_finish(&engine->digesters[i].queue);
        for (size_t feed = 0; feed < engine->feed_count; feed++)
            hr_hasher_destroy(engine->digesters[i].hashers[feed]);
    }
    free(engine->places);
    free(engine->digesters);
    hr__account_close(&engine->account);
    hr__card_turns_finish(&engine->turns);
    hr__event_queue_finish(&engine->events);
    hr__block_pool_finish(&engine->pool);
}

enum hr_status hr_transfer_run(struct hr_transfer_job *job, const struct hr_transfer_observer *observer,
                               const struct hr_cancel *cancel, struct hr_fault *fault)
{
    static const struct hr_transfer_observer nobody = {0};
    struct hr_engine engine = {.job = job, .cancel = cancel, .observer = observer ? observer : &nobody};
    if (job->sink_count > HR_PLACES_MAX || job->card_count > HR_CARDS_MAX || job->item_count > UINT32_MAX)
        return hr__fault_set(fault, HR_INVALID, 0, "a transfer takes at most %d cards and %d places", HR_CARDS_MAX,
                             HR_PLACES_MAX);
    enum hr_status status = hr__block_pool_init(&engine.pool, HR_POOL_BLOCKS, fault);
    if (status)
        return status;
    hr__event_queue_init(&engine.events);
    engine.started_ns = hr__clock_now_ns();
    start_job(job);
    find_part_names(&engine);
    init_feeds(&engine);
    hr__card_turns_init(&engine.turns, job->cards, job->card_count);
    status = hr__account_open(&engine.account, job, fault);
    if (!status)
        status = open_places(&engine, fault);
    if (!status)
        status = init_digesters(&engine, fault);
    if (!status)
        status = run_passes(&engine, fault);
    finish(&engine);
    return status;
}
