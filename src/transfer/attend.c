/* SPDX-License-Identifier: ISC */
/* The caller's thread during a pass: takes what the threads say, writes it into items and sinks, tells the observer. */
#include "base/units.h"
#include "platform/clock.h"
#include "transfer/place.h"

/* ---- What the observer is told ---- */

static void tell_complaint(struct hr_engine *engine, size_t item, size_t sink, const struct hr_fault *fault)
{
    struct hr_fault nameless = {.status = HR_NOMEM, .text = "no memory to say what went wrong"};
    if (engine->observer->complain)
        engine->observer->complain(engine->observer->context, item, sink, fault ? fault : &nameless);
}

static void tell_settled(struct hr_engine *engine, size_t item, size_t sink)
{
    if (engine->observer->copy_settled)
        engine->observer->copy_settled(engine->observer->context, item, sink);
}

static enum hr_sink_activity activity_of(const struct hr_engine *engine, struct hr_place *place)
{
    if (hr__place_has_failed(place))
        return HR_SINK_FAILED;
    if (atomic_load(&place->is_writing))
        return HR_SINK_WRITING;
    if (atomic_load(&place->is_reading_back))
        return HR_SINK_READING_BACK;
    bool all_proven = atomic_load(&place->written.files) == atomic_load(&place->proven.files);
    return atomic_load(&engine->feed_is_done) && all_proven ? HR_SINK_DONE : HR_SINK_WAITING;
}

void hr__tell_progress(struct hr_engine *engine, bool is_last)
{
    struct hr_transfer_progress progress = {
        .elapsed_ns = hr__clock_now_ns() - engine->started_ns,
        .read = {atomic_load(&engine->read.bytes), atomic_load(&engine->read.files)},
        .digested = {atomic_load(&engine->digested.bytes), atomic_load(&engine->digested.files)},
        .pool_blocks = HR_POOL_BLOCKS,
        .free_blocks = (uint32_t)hr__block_pool_free_count(&engine->pool),
        .is_last = is_last,
        .card_is_free = atomic_load(&engine->feed_has_read_all) && engine->job->sink_count > 0,
        .sink_count = engine->job->sink_count,
    };
    if (!engine->observer->progress)
        return;
    if (engine->digester_count == 0)
        progress.digested = progress.read;
    for (size_t i = 0; i < progress.sink_count; i++) {
        struct hr_place *place = &engine->places[i];
        struct hr_sink_progress *sink = &progress.sinks[i];
        sink->written = (struct hr_stage_count){atomic_load(&place->written.bytes), atomic_load(&place->written.files)};
        sink->proven = (struct hr_stage_count){atomic_load(&place->proven.bytes), atomic_load(&place->proven.files)};
        sink->read_back_bytes = atomic_load(&place->read_back_bytes);
        sink->queued_blocks = (uint32_t)hr__piece_queue_count(&place->queue);
        sink->activity = activity_of(engine, place);
        progress.card_is_free &=
            hr__place_has_failed(place) ||
            (sink->queued_blocks == 0 && !atomic_load(&place->is_writing) && atomic_load(&place->is_durable));
    }
    engine->observer->progress(engine->observer->context, &progress);
}

/* ---- What the threads tell ---- */

/* A proven copy is told once its file's digests are complete. */
static void take_proven(struct hr_engine *engine, const struct hr_event *event)
{
    struct hr_transfer_item *item = &engine->job->items[event->item];
    item->copies[event->sink] = (struct hr_copy){.state = HR_COPY_PROVEN, .proof = event->proof};
    if (!engine->job->make_sha256 || item->sha256.kind != HR_DIGEST_NONE)
        tell_settled(engine, event->item, event->sink);
    else
        engine->unreported[event->item] |= (uint8_t)(1u << event->sink);
}

static void take_digest(struct hr_engine *engine, const struct hr_event *event)
{
    engine->job->items[event->item].sha256 = event->digest;
    for (size_t i = 0; i < engine->job->sink_count; i++)
        if (engine->unreported[event->item] & (1u << i))
            tell_settled(engine, event->item, i);
    engine->unreported[event->item] = 0;
}

static void take_read(struct hr_engine *engine, const struct hr_event *event)
{
    struct hr_transfer_item *item = &engine->job->items[event->item];
    item->status = (uint8_t)event->status;
    item->read_at_ns = event->at_ns;
    item->read_ns = event->took_ns;
    if (event->status == HR_OK)
        item->xxh128 = event->digest;
    else if (event->status != HR_CANCELLED)
        tell_complaint(engine, event->item, SIZE_MAX, event->fault);
}

static void take_failed(struct hr_engine *engine, const struct hr_event *event)
{
    struct hr_copy *copy = &engine->job->items[event->item].copies[event->sink];
    bool is_final = engine->attempt == HR_ATTEMPTS || event->status == HR_EXISTS;
    *copy = (struct hr_copy){.state = is_final ? HR_COPY_FAILED : HR_COPY_WANTED, .status = (uint8_t)event->status};
    tell_complaint(engine, event->item, event->sink, event->fault);
    if (is_final)
        tell_settled(engine, event->item, event->sink);
}

static void take_event(struct hr_engine *engine, const struct hr_event *event)
{
    struct hr_transfer_sink *sink = &engine->job->sinks[event->sink];
    switch (event->kind) {
    case HR_POSTED_READ:
        take_read(engine, event);
        break;
    case HR_POSTED_DIGEST:
        take_digest(engine, event);
        break;
    case HR_POSTED_PROVEN:
        take_proven(engine, event);
        break;
    case HR_POSTED_FAILED:
        take_failed(engine, event);
        break;
    case HR_POSTED_SINK_FAILED:
        sink->status = event->status;
        if (event->fault)
            sink->fault = *event->fault;
        tell_complaint(engine, SIZE_MAX, event->sink, event->fault);
        break;
    }
}

void hr__attend(struct hr_engine *engine)
{
    const int64_t tick_ns = HR_NS_PER_S / 10;
    int64_t next_ns = hr__clock_now_ns() + tick_ns;
    for (bool ended = false; !ended;) {
        struct hr_event *events = hr__event_take_all(&ended, &engine->events, next_ns);
        while (events) {
            struct hr_event *event = events;
            events = event->next;
            take_event(engine, event);
            hr__event_free(event);
        }
        if (hr__clock_now_ns() >= next_ns) {
            hr__tell_progress(engine, false);
            next_ns = hr__clock_now_ns() + tick_ns;
        }
    }
}
