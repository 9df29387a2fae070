/* SPDX-License-Identifier: ISC */
#include <string.h>

#include "base/fault.h"
#include "platform/clock.h"
#include "platform/file.h"
#include "transfer/place.h"

/* Where the pieces of one item go. */
struct route {
    struct hr_place *places[HR_PLACES_MAX]; /* that want the bytes */
    size_t place_count;
    struct hr_place *adopters[HR_PLACES_MAX]; /* that only want the digest, for what stands there already */
    size_t adopter_count;
    struct hr_digest_worker *digester; /* NULL: none */
};

struct feed {
    struct hr_engine *engine;
    struct hr_hasher *hasher;
    struct hr_block *spare; /* for the second reading */
};

static struct route route_of(struct hr_engine *engine, uint32_t item)
{
    struct route route = {0};
    for (size_t i = 0; i < engine->job->sink_count; i++) {
        uint8_t state = engine->job->items[item].copies[i].state;
        if (hr__place_has_failed(&engine->places[i]))
            continue;
        if (state == HR_COPY_WANTED)
            route.places[route.place_count++] = &engine->places[i];
        else if (state == HR_COPY_UNPROVEN)
            route.adopters[route.adopter_count++] = &engine->places[i];
    }
    bool has_sha256 = engine->job->items[item].sha256.kind != HR_DIGEST_NONE;
    if (engine->digester_count && !has_sha256)
        route.digester = &engine->digesters[item % engine->digester_count];
    return route;
}

static void send(struct hr_engine *engine, const struct route *route, const struct hr_piece *piece)
{
    size_t users = route->place_count + (route->digester ? 1 : 0);
    if (piece->block)
        hr__block_pool_share(piece->block, (int)users);
    for (size_t i = 0; i < route->place_count; i++)
        hr__piece_queue_push(&route->places[i]->queue, piece);
    for (size_t i = 0; i < route->adopter_count && !piece->block; i++)
        hr__piece_queue_push(&route->adopters[i]->queue, piece);
    if (route->digester)
        hr__piece_queue_push(&route->digester->queue, piece);
    if (piece->block)
        hr__block_pool_release(&engine->pool, piece->block);
}

/* A block handed on is padded with zeros to the border a direct write needs: once, here, before it is shared. */
static void pad(struct hr_block *block, size_t size)
{
    size_t border = (size + HR_DIRECT_ALIGNMENT - 1) / HR_DIRECT_ALIGNMENT * HR_DIRECT_ALIGNMENT;
    memset(block->bytes + size, 0, border - size);
}

static enum hr_status read_once(struct feed *feed, const struct route *route, uint32_t item, uint64_t *size,
                                struct hr_fault *fault)
{
    struct hr_engine *engine = feed->engine;
    size_t got = HR_BLOCK_BYTES;
    enum hr_status status = hr_card_reader_start(engine->reader, engine->job->items[item].file, false, fault);
    while (!status && got == HR_BLOCK_BYTES) {
        if (hr_cancel_requested(engine->cancel))
            return HR_CANCELLED;
        struct hr_block *block = hr__block_pool_take(&engine->pool);
        status = hr_card_reader_read(&got, engine->reader, block->bytes, HR_BLOCK_BYTES, fault);
        if (status || got == 0) {
            hr__block_pool_release(&engine->pool, block);
            break;
        }
        pad(block, got);
        hr_hasher_update(feed->hasher, block->bytes, got);
        atomic_fetch_add(&engine->read.bytes, got);
        send(engine, route, &(struct hr_piece){.item = item, .block = block, .size = (uint32_t)got, .offset = *size});
        *size += got;
    }
    return status ? status : hr_card_reader_end(engine->reader, fault);
}

static enum hr_status tell_two_readings(const struct hr_card_file *file, struct hr_fault *fault)
{
    return hr__fault_set(fault, HR_DIFFERS, 0,
                         "%s: the card gave other bytes when it was read again; try another reader, cable or port",
                         file->path);
}

/* The second, independent reading: to find a reader or cable that does not say the same thing twice. */
static enum hr_status read_again(struct feed *feed, uint32_t item, const struct hr_digest *first,
                                 struct hr_fault *fault)
{
    struct hr_engine *engine = feed->engine;
    const struct hr_card_file *file = engine->job->items[item].file;
    size_t got = HR_BLOCK_BYTES;
    enum hr_status status = hr_card_reader_start(engine->reader, file, true, fault);
    hr_hasher_restart(feed->hasher);
    while (!status && got == HR_BLOCK_BYTES) {
        if (hr_cancel_requested(engine->cancel))
            return HR_CANCELLED;
        status = hr_card_reader_read(&got, engine->reader, feed->spare->bytes, HR_BLOCK_BYTES, fault);
        if (!status)
            hr_hasher_update(feed->hasher, feed->spare->bytes, got);
    }
    if (!status)
        status = hr_card_reader_end(engine->reader, fault);
    struct hr_digest second = hr_hasher_finish(feed->hasher);
    if (!status && !hr_digest_equal(first, &second))
        status = hr__fault_set(
            fault, HR_DIFFERS, 0,
            "%s: the card gave other bytes when it was read again; try another reader, cable or port", file->path);
    return status;
}

/* Copies of one file must not come from two readings that differ. */
static enum hr_status compare_with_earlier_pass(const struct hr_engine *engine, uint32_t item,
                                                const struct hr_digest *digest, struct hr_fault *fault)
{
    const struct hr_digest *earlier = &engine->job->items[item].xxh128;
    if (earlier->kind == HR_DIGEST_NONE || hr_digest_equal(earlier, digest))
        return HR_OK;
    return tell_two_readings(engine->job->items[item].file, fault);
}

static void feed_item(struct feed *feed, uint32_t item)
{
    struct hr_engine *engine = feed->engine;
    struct route route = route_of(engine, item);
    if (engine->job->sink_count > 0 && route.place_count + route.adopter_count == 0)
        return;
    struct hr_fault fault = {0};
    struct hr_event event = {.kind = HR_POSTED_READ, .item = item, .at_ns = hr__clock_wall_ns()};
    int64_t began_ns = hr__clock_now_ns();
    uint64_t size = 0;
    hr_hasher_restart(feed->hasher);
    event.status = read_once(feed, &route, item, &size, &fault);
    event.digest = hr_hasher_finish(feed->hasher);
    event.took_ns = hr__clock_now_ns() - began_ns;
    if (!event.status)
        event.status = compare_with_earlier_pass(engine, item, &event.digest, &fault);
    if (!event.status && engine->job->reread_card)
        event.status = read_again(feed, item, &event.digest, &fault);
    if (event.status == HR_GONE)
        atomic_store(&engine->card_is_gone, true);
    if (!event.status)
        atomic_fetch_add(&engine->read.files, 1);
    hr__event_post(&engine->events, &event, event.status ? &fault : NULL);
    send(engine, &route,
         &(struct hr_piece){.item = item, .offset = size, .status = event.status, .xxh128 = event.digest});
}

static bool needs_this_pass(const struct hr_engine *engine, const struct hr_transfer_item *item)
{
    bool is_first = engine->attempt == 1;
    if (engine->job->sink_count == 0)
        return is_first || (item->status != HR_OK && item->status != HR_CANCELLED);
    for (size_t i = 0; i < engine->job->sink_count; i++)
        if (item->copies[i].state == HR_COPY_WANTED || item->copies[i].state == HR_COPY_UNPROVEN)
            return true;
    return false;
}

static void close_queues(struct hr_engine *engine)
{
    for (size_t i = 0; i < engine->job->sink_count; i++)
        hr__piece_queue_close(&engine->places[i].queue);
    for (size_t i = 0; i < engine->digester_count; i++)
        hr__piece_queue_close(&engine->digesters[i].queue);
}

void hr__card_feed_run(void *argument)
{
    struct feed feed = {.engine = argument};
    struct hr_engine *engine = feed.engine;
    struct hr_fault fault = {0};
    if (!hr_hasher_create(&feed.hasher, HR_DIGEST_XXH128, &fault)) {
        feed.spare = engine->job->reread_card ? hr__block_pool_take(&engine->pool) : NULL;
        for (size_t i = 0; i < engine->job->item_count; i++) {
            if (hr_cancel_requested(engine->cancel) || atomic_load(&engine->card_is_gone))
                break;
            if (needs_this_pass(engine, &engine->job->items[i]))
                feed_item(&feed, (uint32_t)i);
        }
        if (feed.spare)
            hr__block_pool_release(&engine->pool, feed.spare);
    }
    hr_hasher_destroy(feed.hasher);
    if (!hr_cancel_requested(engine->cancel) && !atomic_load(&engine->card_is_gone))
        atomic_store(&engine->feed_has_read_all, true);
    atomic_store(&engine->feed_is_done, true);
    close_queues(engine);
    hr__event_thread_ends(&engine->events);
}
