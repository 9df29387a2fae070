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

static void tell_read(struct hr_engine *engine, size_t item)
{
    if (engine->observer->item_read)
        engine->observer->item_read(engine->observer->context, item);
}

static void tell_settled(struct hr_engine *engine, size_t item, size_t sink)
{
    struct hr_card_account *card = &engine->account.cards[engine->job->items[item].card];
    if (card->not_settled[sink] > 0) /* a place that failed was counted out whole */
        card->not_settled[sink]--;
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
    return atomic_load(&engine->feeds_reading) == 0 && all_proven ? HR_SINK_DONE : HR_SINK_WAITING;
}

static bool reads_beside(struct hr_place *place)
{
    hr__lock_take(&place->lock);
    bool does = hr__pace_reads_beside(&place->pace);
    hr__lock_drop(&place->lock);
    return does;
}

static struct hr_stage_count count_of(struct hr_counter *counter)
{
    return (struct hr_stage_count){atomic_load(&counter->bytes), atomic_load(&counter->files)};
}

void hr__tell_progress(struct hr_engine *engine, bool is_last)
{
    struct hr_transfer_progress progress = {
        .elapsed_ns = hr__clock_now_ns() - engine->started_ns,
        .read = count_of(&engine->read),
        .digested = count_of(&engine->digested),
        .pool_blocks = HR_POOL_BLOCKS,
        .free_blocks = (uint32_t)hr__block_pool_free_count(&engine->pool),
        .is_last = is_last,
        .sink_count = engine->job->sink_count,
    };
    if (!engine->observer->progress)
        return;
    if (engine->digester_count == 0)
        progress.digested = progress.read;
    for (size_t i = 0; i < engine->job->card_count; i++)
        progress.bytes_of_card[i] = atomic_load(&engine->bytes_of_card[i]);
    for (size_t i = 0; i < progress.sink_count; i++) {
        struct hr_place *place = &engine->places[i];
        struct hr_sink_progress *sink = &progress.sinks[i];
        sink->written = count_of(&place->written);
        sink->durable = count_of(&place->durable);
        sink->proven = count_of(&place->proven);
        sink->read_back_bytes = atomic_load(&place->read_back_bytes);
        sink->queued_bytes = hr__piece_queue_bytes(&place->queue);
        sink->activity = activity_of(engine, place);
        sink->reads_beside = reads_beside(place);
    }
    engine->observer->progress(engine->observer->context, &progress);
}

/* A card may leave its reader when nothing of it is missing anywhere, as long as there is an anywhere. */
static void tell_free(struct hr_engine *engine, size_t card)
{
    struct hr_card_account *account = &engine->account.cards[card];
    bool has_place = false;
    for (size_t i = 0; i < engine->job->sink_count; i++)
        has_place |= !hr__place_has_failed(&engine->places[i]);
    if (account->told_free || !has_place || !hr__account_is_free(&engine->account, card))
        return;
    account->told_free = true;
    if (engine->observer->card_free)
        engine->observer->card_free(engine->observer->context, card);
}

/* A copy that was thought safe has to be made anew. */
static void take_free_back(struct hr_engine *engine, size_t card)
{
    struct hr_card_account *account = &engine->account.cards[card];
    if (account->told_free && engine->observer->card_needed)
        engine->observer->card_needed(engine->observer->context, card);
    account->told_free = false;
}

static void tell_card_settled(struct hr_engine *engine, size_t card)
{
    struct hr_card_account *account = &engine->account.cards[card];
    if (account->told_settled)
        return;
    hr__tell_progress(engine, false); /* for those who keep a log of the card */
    account->told_settled = true;
    if (engine->observer->card_settled)
        engine->observer->card_settled(engine->observer->context, card);
}

/* After events: which cards are done? */
static void tell_cards(struct hr_engine *engine)
{
    for (size_t card = 0; card < engine->job->card_count; card++) {
        tell_free(engine, card);
        if (hr__account_is_settled(&engine->account, card))
            tell_card_settled(engine, card);
    }
}

void hr__tell_end(struct hr_engine *engine)
{
    hr__tell_progress(engine, true);
    for (size_t card = 0; card < engine->job->card_count; card++)
        tell_card_settled(engine, card);
}

/* ---- What the threads tell ---- */

static void take_card_started(struct hr_engine *engine, const struct hr_event *event)
{
    if (engine->attempt == 1 && engine->observer->card_started)
        engine->observer->card_started(engine->observer->context, event->card);
}

static void take_card_ended(struct hr_engine *engine, const struct hr_event *event)
{
    engine->job->cards[event->card].status = event->status;
    engine->account.cards[event->card].was_read |= event->status == HR_OK;
    if (event->status && event->status != HR_CANCELLED)
        tell_complaint(engine, SIZE_MAX, SIZE_MAX, event->fault);
}

static void take_durable(struct hr_engine *engine, const struct hr_event *event)
{
    uint32_t *not_durable = &engine->account.cards[event->card].not_durable[event->sink];
    *not_durable -= *not_durable < event->count ? *not_durable : event->count;
}

/* A proven copy is told once its file's digests are complete. */
static void take_proven(struct hr_engine *engine, const struct hr_event *event)
{
    struct hr_transfer_item *item = &engine->job->items[event->item];
    item->copies[event->sink] = (struct hr_copy){.state = HR_COPY_PROVEN, .proof = event->proof};
    if (!engine->job->make_sha256 || item->sha256.kind != HR_DIGEST_NONE)
        tell_settled(engine, event->item, event->sink);
    else
        engine->account.unreported[event->item] |= (uint8_t)(1u << event->sink);
}

static void take_digest(struct hr_engine *engine, const struct hr_event *event)
{
    engine->job->items[event->item].sha256 = event->digest;
    for (size_t i = 0; i < engine->job->sink_count; i++)
        if (engine->account.unreported[event->item] & (1u << i))
            tell_settled(engine, event->item, i);
    engine->account.unreported[event->item] = 0;
}

static void take_read(struct hr_engine *engine, const struct hr_event *event)
{
    struct hr_transfer_item *item = &engine->job->items[event->item];
    item->status = (uint8_t)event->status;
    item->read_at_ns = event->at_ns;
    item->read_ns = event->took_ns;
    if (event->status == HR_OK) {
        item->xxh128 = event->digest;
        tell_read(engine, event->item);
    } else if (event->status != HR_CANCELLED) {
        tell_complaint(engine, event->item, SIZE_MAX, event->fault);
    }
}

static void take_failed(struct hr_engine *engine, const struct hr_event *event)
{
    struct hr_copy *copy = &engine->job->items[event->item].copies[event->sink];
    size_t card = engine->job->items[event->item].card;
    uint32_t *not_durable = &engine->account.cards[card].not_durable[event->sink];
    bool is_final = engine->attempt == HR_ATTEMPTS || event->status == HR_EXISTS;
    if (event->was_durable && !is_final)
        ++*not_durable;
    else if (!event->was_durable && is_final && *not_durable > 0)
        --*not_durable;
    *copy = (struct hr_copy){.state = is_final ? HR_COPY_FAILED : HR_COPY_WANTED, .status = (uint8_t)event->status};
    tell_complaint(engine, event->item, event->sink, event->fault);
    if (is_final)
        tell_settled(engine, event->item, event->sink);
    else
        take_free_back(engine, card);
}

static void take_sink_failed(struct hr_engine *engine, const struct hr_event *event)
{
    struct hr_transfer_sink *sink = &engine->job->sinks[event->sink];
    sink->status = event->status;
    if (event->fault)
        sink->fault = *event->fault;
    hr__account_drop_sink(&engine->account, event->sink);
    tell_complaint(engine, SIZE_MAX, event->sink, event->fault);
}

static void take_event(struct hr_engine *engine, const struct hr_event *event)
{
    static void (*const takes[])(struct hr_engine *, const struct hr_event *) = {
        [HR_POSTED_CARD_STARTED] = take_card_started,
        [HR_POSTED_CARD_ENDED] = take_card_ended,
        [HR_POSTED_READ] = take_read,
        [HR_POSTED_DIGEST] = take_digest,
        [HR_POSTED_DURABLE] = take_durable,
        [HR_POSTED_PROVEN] = take_proven,
        [HR_POSTED_FAILED] = take_failed,
        [HR_POSTED_SINK_FAILED] = take_sink_failed,
    };
    takes[event->kind](engine, event);
}

void hr__attend(struct hr_engine *engine)
{
    const int64_t look_ns = HR_NS_PER_S / 100, tick_ns = HR_NS_PER_S / 10;
    int64_t next_ns = hr__clock_now_ns() + tick_ns;
    for (bool ended = false; !ended;) {
        struct hr_event *events = hr__event_take_all(&ended, &engine->events, hr__clock_now_ns() + look_ns);
        bool has_news = events != NULL;
        while (events) {
            struct hr_event *event = events;
            events = event->next;
            take_event(engine, event);
            hr__event_free(event);
        }
        if (has_news)
            tell_cards(engine);
        if (hr__clock_now_ns() >= next_ns) {
            hr__tell_progress(engine, false);
            next_ns = hr__clock_now_ns() + tick_ns;
        }
    }
}
