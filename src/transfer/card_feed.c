/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/units.h"
#include "platform/clock.h"
#include "platform/file.h"
#include "platform/machine.h"
#include "transfer/outbox.h"
#include "transfer/place.h"

/* What was gathered is handed over no later than this. */
static const int64_t deliver_after_ns = HR_NS_PER_S / 50;

/* Where the pieces of one item go, as bits of places and digest workers. */
struct route {
    unsigned places;   /* that want the bytes */
    unsigned adopters; /* that only want the digest, for what stands there already */
    unsigned digester;
    int users; /* of each block */
};

struct feed {
    struct hr_engine *engine;
    uint8_t index;
    struct hr_card_reader *reader; /* of the card under way */
    struct hr_hasher *hasher;
    unsigned char *spare;   /* for the second reading */
    struct hr_block *block; /* being filled; NULL: none */
    size_t filled;          /* of it, a multiple of HR_DIRECT_ALIGNMENT */
    int64_t delivered_ns;
    struct hr_outbox places[HR_PLACES_MAX], digesters[HR_DIGEST_WORKERS_MAX];
};

/* ---- Handing over ---- */

static struct route route_of(const struct feed *feed, uint32_t item)
{
    const struct hr_engine *engine = feed->engine;
    struct route route = {0};
    for (size_t i = 0; i < engine->job->sink_count; i++) {
        uint8_t state = engine->job->items[item].copies[i].state;
        if (hr__place_has_failed(&engine->places[i]))
            continue;
        if (state == HR_COPY_WANTED) {
            route.places |= 1u << i;
            route.users++;
        } else if (state == HR_COPY_UNPROVEN) {
            route.adopters |= 1u << i;
        }
    }
    if (engine->digester_count && engine->job->items[item].sha256.kind == HR_DIGEST_NONE) {
        route.digester = 1u << item % engine->digester_count;
        route.users++;
    }
    return route;
}

static void deliver(struct feed *feed)
{
    for (size_t i = 0; i < feed->engine->job->sink_count; i++)
        hr__outbox_deliver(&feed->places[i]);
    for (size_t i = 0; i < feed->engine->digester_count; i++)
        hr__outbox_deliver(&feed->digesters[i]);
    feed->delivered_ns = hr__clock_now_ns();
}

static void add_to(struct hr_outbox *outboxes, unsigned wanted, const struct hr_piece *piece)
{
    for (size_t i = 0; wanted >> i; i++)
        if (wanted >> i & 1)
            hr__outbox_add(&outboxes[i], piece);
}

static void hand_over(struct feed *feed, const struct route *route, const struct hr_piece *piece)
{
    if (piece->block)
        hr__block_pool_share(piece->block, route->users);
    add_to(feed->places, route->places, piece);
    add_to(feed->digesters, route->digester, piece);
    if (piece->is_last && route->adopters) {
        struct hr_piece word = *piece;
        word.block = NULL;
        word.offset += word.size;
        word.size = 0;
        add_to(feed->places, route->adopters, &word);
    }
}

/* ---- Reading ---- */

static void tell_listener(const struct feed *feed, uint32_t item, uint64_t offset, const void *bytes, size_t size,
                          enum hr_status status)
{
    const struct hr_transfer_listener *listener = &feed->engine->job->listener;
    if (listener->hear)
        listener->hear(listener->context, feed->index, item, offset, bytes, size, status);
}

static void put_block_away(struct feed *feed)
{
    if (feed->block)
        hr__block_pool_release(&feed->engine->pool, feed->block);
    feed->block = NULL;
}

/* Room in a block for what is left of a file and a byte more, by which a file that grew shows; a whole block at most.
 * Before waiting for a block, all that was gathered goes out: it may be what keeps the pool empty. */
static size_t make_room(struct feed *feed, uint64_t left)
{
    size_t room = left < HR_BLOCK_BYTES ? (size_t)hr__direct_border(left + 1) : HR_BLOCK_BYTES;
    if (feed->block && HR_BLOCK_BYTES - feed->filled >= room)
        return room;
    put_block_away(feed);
    deliver(feed);
    feed->block = hr__block_pool_take(&feed->engine->pool);
    feed->filled = 0;
    return room;
}

/* Reads the file once. *last is its last piece, not handed over yet. */
static enum hr_status read_once(struct feed *feed, const struct route *route, struct hr_piece *last,
                                struct hr_fault *fault)
{
    struct hr_engine *engine = feed->engine;
    const struct hr_card_file *file = engine->job->items[last->item].file;
    enum hr_status status = hr_card_reader_start(feed->reader, file, false, fault);
    uint64_t offset = 0;
    for (bool ended = false; !status && !ended;) {
        if (hr_cancel_requested(engine->cancel))
            return HR_CANCELLED;
        size_t got, room = make_room(feed, offset < file->size_bytes ? file->size_bytes - offset : 0);
        unsigned char *bytes = feed->block->bytes + feed->filled;
        status = hr_card_reader_read(&got, feed->reader, bytes, room, fault);
        if (status)
            return status;
        hr_hasher_update(feed->hasher, bytes, got);
        if (got > 0)
            tell_listener(feed, last->item, offset, bytes, got, HR_OK);
        atomic_fetch_add(&engine->read.bytes, got);
        atomic_fetch_add(&engine->bytes_of_card[engine->job->items[last->item].card], got);
        last->block = got ? feed->block : NULL;
        last->start = (uint32_t)feed->filled;
        last->size = (uint32_t)got;
        last->offset = offset;
        offset += got;
        feed->filled += (size_t)hr__direct_border(got);
        ended = got < room;
        if (!ended)
            hand_over(feed, route, last);
    }
    return status ? status : hr_card_reader_end(feed->reader, fault);
}

static enum hr_status tell_two_readings(const struct hr_card_file *file, struct hr_fault *fault)
{
    return hr__fault_about(fault, HR_DIFFERS, file->path,
                           "the card gave other bytes when it was read again; try another reader, cable or port");
}

/* The second, independent reading: to find a reader or cable that does not say the same thing twice. */
static enum hr_status read_again(struct feed *feed, uint32_t item, const struct hr_digest *first,
                                 struct hr_fault *fault)
{
    struct hr_engine *engine = feed->engine;
    const struct hr_card_file *file = engine->job->items[item].file;
    size_t got = HR_BLOCK_BYTES;
    enum hr_status status = hr_card_reader_start(feed->reader, file, true, fault);
    hr_hasher_restart(feed->hasher);
    while (!status && got == HR_BLOCK_BYTES) {
        if (hr_cancel_requested(engine->cancel))
            return HR_CANCELLED;
        status = hr_card_reader_read(&got, feed->reader, feed->spare, HR_BLOCK_BYTES, fault);
        if (!status) {
            hr_hasher_update(feed->hasher, feed->spare, got);
            atomic_fetch_add(&engine->bytes_of_card[engine->job->items[item].card], got);
        }
    }
    if (!status)
        status = hr_card_reader_end(feed->reader, fault);
    struct hr_digest second = hr_hasher_finish(feed->hasher);
    if (!status && !hr_digest_equal(first, &second))
        status = tell_two_readings(file, fault);
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
    struct route route = route_of(feed, item);
    if (engine->job->sink_count > 0 && !(route.places | route.adopters))
        return;
    struct hr_fault fault = {0};
    struct hr_event event = {.kind = HR_POSTED_READ, .item = item, .at_ns = hr__clock_wall_ns()};
    struct hr_piece last = {.item = item, .feed = feed->index};
    int64_t began_ns = hr__clock_now_ns();
    hr_hasher_restart(feed->hasher);
    event.status = read_once(feed, &route, &last, &fault);
    event.digest = hr_hasher_finish(feed->hasher);
    event.took_ns = hr__clock_now_ns() - began_ns;
    if (!event.status)
        event.status = compare_with_earlier_pass(engine, item, &event.digest, &fault);
    if (!event.status && engine->job->reread_card)
        event.status = read_again(feed, item, &event.digest, &fault);
    if (!event.status)
        atomic_fetch_add(&engine->read.files, 1);
    tell_listener(feed, item, last.offset + last.size, NULL, 0, event.status);
    hr__event_post(&engine->events, &event, event.status ? &fault : NULL);
    if (event.status) /* what was read of it may be handed over already, and is of no use to anybody */
        last.block = NULL, last.size = 0;
    last.is_last = true;
    last.status = (uint8_t)event.status;
    memcpy(last.xxh128, event.digest.bytes, sizeof last.xxh128);
    hand_over(feed, &route, &last);
    if (event.status == HR_GONE)
        atomic_store(&engine->card_is_gone[engine->job->items[item].card], true);
    if (hr__clock_now_ns() - feed->delivered_ns > deliver_after_ns)
        deliver(feed);
}

/* ---- Cards ---- */

static bool needs_this_pass(const struct hr_engine *engine, const struct hr_transfer_item *item)
{
    if (engine->job->sink_count == 0)
        return item->status != HR_OK;
    for (size_t i = 0; i < engine->job->sink_count; i++)
        if (item->copies[i].state == HR_COPY_WANTED || item->copies[i].state == HR_COPY_UNPROVEN)
            return true;
    return false;
}

/* Shut for one feed is shut for all. */
static bool may_begin(struct hr_engine *engine, size_t item)
{
    const struct hr_transfer_gate *gate = &engine->job->gate;
    if (gate->may_begin && !atomic_load(&engine->gate_is_shut) && !gate->may_begin(gate->context, item))
        atomic_store(&engine->gate_is_shut, true);
    return !atomic_load(&engine->gate_is_shut);
}

static enum hr_status feed_items(struct feed *feed, size_t card)
{
    struct hr_engine *engine = feed->engine;
    const struct hr_transfer_card *from = &engine->job->cards[card];
    for (size_t i = from->first_item; i < from->first_item + from->item_count; i++) {
        if (hr_cancel_requested(engine->cancel))
            return HR_CANCELLED;
        if (atomic_load(&engine->card_is_gone[card]))
            return HR_GONE;
        if (!needs_this_pass(engine, &engine->job->items[i]))
            continue;
        if (!may_begin(engine, i))
            return HR_CANCELLED;
        feed_item(feed, (uint32_t)i);
    }
    return atomic_load(&engine->card_is_gone[card]) ? HR_GONE : HR_OK;
}

/* Without a feed the card is only told to have failed. */
static void feed_card(struct feed *feed, struct hr_engine *engine, size_t card, struct hr_fault *fault)
{
    struct hr_event event = {.kind = HR_POSTED_CARD_STARTED, .card = (uint8_t)card, .status = HR_NOMEM};
    hr__event_post(&engine->events, &event, NULL);
    if (feed) {
        event.status = hr_card_reader_open(&feed->reader, engine->job->cards[card].card, fault);
        if (!event.status)
            event.status = feed_items(feed, card);
        hr_card_reader_close(feed->reader);
        feed->reader = NULL;
        deliver(feed);
    }
    if (event.status == HR_GONE)
        hr__fault_about(fault, HR_GONE, hr_card_path(engine->job->cards[card].card), "the card was pulled");
    event.kind = HR_POSTED_CARD_ENDED;
    hr__event_post(&engine->events, &event, event.status ? fault : NULL);
}

static void close_feed(struct feed *feed)
{
    if (!feed)
        return;
    if (feed->engine)
        put_block_away(feed);
    hr__aligned_free(feed->spare);
    hr_hasher_destroy(feed->hasher);
    free(feed);
}

/* NULL, and the fault says why, when memory is out. */
static struct feed *open_feed(const struct hr_feed *thread, struct hr_fault *fault)
{
    struct hr_engine *engine = thread->engine;
    struct feed *feed = calloc(1, sizeof *feed);
    enum hr_status status = feed ? HR_OK : hr__fault_nomem(fault, "a card's reader");
    if (!status && engine->job->reread_card && !(feed->spare = hr__aligned_alloc(HR_BLOCK_BYTES)))
        status = hr__fault_nomem(fault, "a card's second reading");
    if (!status)
        status = hr_hasher_create(&feed->hasher, HR_DIGEST_XXH128, fault);
    if (status) {
        close_feed(feed);
        return NULL;
    }
    feed->engine = engine;
    feed->index = thread->index;
    for (size_t i = 0; i < engine->job->sink_count; i++)
        feed->places[i].queue = &engine->places[i].queue;
    for (size_t i = 0; i < engine->digester_count; i++)
        feed->digesters[i].queue = &engine->digesters[i].queue;
    return feed;
}

static void close_queues(struct hr_engine *engine)
{
    for (size_t i = 0; i < engine->job->sink_count; i++)
        hr__piece_queue_close(&engine->places[i].queue);
    for (size_t i = 0; i < engine->digester_count; i++)
        hr__piece_queue_close(&engine->digesters[i].queue);
}

void hr__card_feed_ends(struct hr_engine *engine)
{
    if (atomic_fetch_sub(&engine->feeds_reading, 1) == 1)
        close_queues(engine);
}

void hr__card_feed_run(void *argument)
{
    struct hr_feed *thread = argument;
    struct hr_engine *engine = thread->engine;
    struct hr_fault fault = {0};
    struct feed *feed = open_feed(thread, &fault);
    size_t card;
    while (hr__card_turns_take(&card, &engine->turns)) {
        feed_card(feed, engine, card, &fault);
        hr__card_turns_done(&engine->turns, card);
        if (feed)
            hr_fault_clear(&fault);
    }
    close_feed(feed);
    hr__card_feed_ends(engine);
    hr__event_thread_ends(&engine->events);
}
