/* SPDX-License-Identifier: ISC */
/* What the threads of one run share.
 *
 *     card feed --pieces--> place writer --copies--> place prover --events--> the caller's thread
 *         \------pieces--> digest worker ----------------------------events--/
 *
 * A run is one pass over the items, and further passes over those whose copies failed. In a pass, items, cards and
 * sinks are written by the caller's thread alone, from events; the others only read what was there when the pass began.
 */
#ifndef HR_TRANSFER_ENGINE_H
#define HR_TRANSFER_ENGINE_H

#include <stdatomic.h>

#include <headrace/transfer.h>

#include "transfer/account.h"
#include "transfer/block_pool.h"
#include "transfer/card_turns.h"
#include "transfer/event_queue.h"
#include "transfer/piece_queue.h"

enum {
    HR_POOL_BLOCKS = 32,
    HR_DIGEST_WORKERS_MAX = 4,
    HR_ATTEMPTS = 3, /* passes over what failed, the first included */
    HR_DIRECT_FROM_BYTES =
        1 << 20 /* files this large are written past the page cache, smaller ones in batches through it */
};

struct hr_place;

struct hr_counter {
    atomic_uint_least64_t bytes, files;
};

/* Reads cards, one after the other. */
struct hr_feed {
    struct hr_engine *engine;
    uint8_t index;
    struct hr_thread thread;
};

struct hr_digest_worker {
    struct hr_engine *engine;
    struct hr_hasher *hashers[HR_FEEDS_MAX]; /* its own, one a feed: their pieces come mixed */
    struct hr_piece_queue queue;
    struct hr_thread thread;
};

struct hr_engine {
    struct hr_transfer_job *job; /* set once, as all down to the counters */
    const struct hr_cancel *cancel;
    const struct hr_transfer_observer *observer;
    struct hr_block_pool pool;
    struct hr_event_queue events;
    struct hr_place *places; /* one a sink */
    struct hr_digest_worker *digesters;
    size_t digester_count;
    struct hr_feed feeds[HR_FEEDS_MAX];
    size_t feed_count;
    int64_t started_ns;
    unsigned part_dots[HR_CARDS_MAX]; /* hr__part_dots: the most of the card's files */

    unsigned attempt;          /* of this pass, from 1; set between passes */
    struct hr_account account; /* the caller's thread alone */

    struct hr_card_turns turns;
    atomic_size_t
        feeds_reading; /* in this pass, and one more while they are started: the last to end closes the queues */
    atomic_bool card_is_gone[HR_CARDS_MAX], gate_is_shut;
    struct hr_counter read, digested;
    atomic_uint_least64_t bytes_of_card[HR_CARDS_MAX];
};

/* The bodies of the threads; each calls hr__event_thread_ends as its last act. */
void hr__card_feed_run(void *feed);
/* One feed less; no more pieces come after the last. */
void hr__card_feed_ends(struct hr_engine *engine);
void hr__digest_worker_run(void *digest_worker);
size_t hr__digest_worker_count(void);
void hr__place_writer_run(void *place);
void hr__place_prover_run(void *place);

/* On the caller's thread: until every thread of the pass has ended and all they said is taken and told. */
void hr__attend(struct hr_engine *engine);
void hr__tell_progress(struct hr_engine *engine, bool is_last);
/* The last word: of the run, and of each card that was not settled yet. */
void hr__tell_end(struct hr_engine *engine);

#endif
