/* SPDX-License-Identifier: ISC */
/* The engine: reads each file of the cards once, writes it to every place that wants it, makes it durable, reads it
 * back from the medium, compares, and only then gives it its final name.
 *
 * Fill a job, call hr_transfer_run, read the states off its items. What goes wrong with a file, a card or a place
 * stands on that item, card or sink; the others go on. The engine knows no bags and no ledger: an observer is told what
 * was proven. A job without sinks only reads the cards and makes the digests. */
#ifndef HEADRACE_TRANSFER_H
#define HEADRACE_TRANSFER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/cancel.h>
#include <headrace/card.h>
#include <headrace/digest.h>
#include <headrace/proof.h>
#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { HR_PLACES_MAX = 8, HR_CARDS_MAX = 16 };

enum hr_copy_state {
    HR_COPY_NOT_WANTED, /* proven there before this run */
    HR_COPY_WANTED,     /* to be made; after the run: never reached (place failed, card gone, stopped) */
    HR_COPY_UNPROVEN,   /* stands there under its final name from an interrupted run: only read back and compared */
    HR_COPY_PROVEN,
    HR_COPY_FAILED
};

struct hr_copy {
    uint8_t state;  /* enum hr_copy_state */
    uint8_t proof;  /* enum hr_proof */
    uint8_t status; /* enum hr_status when failed */
};

struct hr_transfer_item {
    const struct hr_card_file *file;      /* in */
    uint8_t card;                         /* in: index into the job's cards */
    struct hr_copy copies[HR_PLACES_MAX]; /* state in and out, one a sink */
    uint8_t status; /* out: enum hr_status of reading it from the card; HR_CANCELLED while never read */
    struct hr_digest xxh128, sha256; /* out: of the bytes as read; HR_DIGEST_NONE until then, or if not asked for */
    int64_t read_at_ns;              /* out: wall time at its first byte, 0 if never */
    int64_t read_ns;                 /* out: time spent reading it */
};

/* Where a card's files land in one place. Not zeroed: all landings of a place are on one volume. */
struct hr_transfer_landing {
    const char *data_path;  /* existing folder; files land at data_path/<path on the card> */
    const char *aside_path; /* where a copy that differs is kept; made when first needed */
};

struct hr_transfer_card {
    const struct hr_card *card;                         /* in */
    unsigned link;                                      /* in: cards of one link are read one after the other */
    size_t first_item, item_count;                      /* in: its run of the job's items */
    struct hr_transfer_landing landings[HR_PLACES_MAX]; /* in: one a sink; zeroed where no item wants a copy */
    enum hr_status status; /* out: HR_OK when every item was tried; HR_GONE: pulled; HR_CANCELLED: not all was read */
};

/* A place. */
struct hr_transfer_sink {
    enum hr_status status; /* out: not HR_OK when the place failed as a whole */
    struct hr_fault fault; /* out: its first cause */
    char policy[160];      /* out: one line, how this place was written and read back, and why */
};

/* Hears the bytes of each item as they pass, from its first to its last, on the thread that reads its card: one call
 * after the other for one feed, several feeds side by side. It must not wait. */
struct hr_transfer_listener {
    void *context;
    /* `size` 0: the item has ended at `offset`, with `status`; a second reading of `reread_card` is not heard. Another
     * pass over the item begins at offset 0 again. */
    void (*hear)(void *context, size_t feed, size_t item, uint64_t offset, const void *bytes, size_t size,
                 enum hr_status status);
};
enum { HR_FEEDS_MAX = 4 }; /* cards read at the same time: feeds are 0 .. HR_FEEDS_MAX - 1 */

/* Asked before each item is begun, on the thread that reads its card, feeds side by side. Once it says false no item is
 * begun any more in this run; what was begun is finished, and the cards' status is HR_CANCELLED. */
struct hr_transfer_gate {
    void *context;
    bool (*may_begin)(void *context, size_t item);
};

struct hr_transfer_job {
    struct hr_transfer_card *cards; /* in the order they are to be taken */
    size_t card_count;
    size_t cards_at_once;           /* at most this many are read at the same time, of different links; 0: one */
    struct hr_transfer_item *items; /* card after card, each in the order they are to be taken */
    size_t item_count;
    struct hr_transfer_sink *sinks;
    size_t sink_count;
    struct hr_transfer_listener listener; /* zeroed: nobody hears */
    struct hr_transfer_gate gate;         /* zeroed: all are begun */
    bool make_sha256;
    bool reread_card; /* each file is read from its card a second time, past the cache where possible; two readings that
                         differ fail the file */
};

/* Counters since the run began; they only grow. */
struct hr_stage_count {
    uint64_t bytes;
    uint64_t files;
};
enum hr_sink_activity { HR_SINK_WAITING, HR_SINK_WRITING, HR_SINK_READING_BACK, HR_SINK_DONE, HR_SINK_FAILED };
struct hr_sink_progress {
    struct hr_stage_count written, durable, proven; /* durable: of what was written, by a sync */
    uint64_t read_back_bytes;
    uint64_t queued_bytes; /* waiting for its writer */
    enum hr_sink_activity activity;
    bool reads_beside; /* it was found to lose little by being read back while it is written */
};
struct hr_transfer_progress {
    int64_t elapsed_ns;
    struct hr_stage_count read, digested; /* digested: the slowest digest asked for */
    uint64_t bytes_of_card[HR_CARDS_MAX]; /* that it gave, in second readings too */
    uint32_t pool_blocks, free_blocks;    /* of 1 MiB; none free: the cards wait for a place */
    bool is_last;                         /* the run is over */
    size_t sink_count;
    struct hr_sink_progress sinks[HR_PLACES_MAX];
};

/* Called on the thread that called hr_transfer_run, never at the same time. Any may be NULL. */
struct hr_transfer_observer {
    void *context;
    /* Reading of the card begins. */
    void (*card_started)(void *context, size_t card);
    /* Every byte of the card is read and safely written in every place that still works, though not all of it is read
     * back: it may leave its reader, but must not be formatted. Copies that failed for good do not hold it. Never of a
     * card that was pulled. */
    void (*card_free)(void *context, size_t card);
    /* A card that was told to be free is to be read again after all: a copy read back wrong. It may become free anew.
     */
    void (*card_needed)(void *context, size_t card);
    /* No copy of the card will be settled any more, and no complaint comes about it. */
    void (*card_settled)(void *context, size_t card);
    /* All of the item was read from its card, in this pass; what its listener did in it is over. */
    void (*item_read)(void *context, size_t item);
    /* Item `item`'s copy at `sink` became PROVEN or FAILED for good; digests of the item are complete. */
    void (*copy_settled)(void *context, size_t item, size_t sink);
    /* Something to tell: an attempt that failed (and may be tried anew), a place that failed. `item` or `sink` is
     * SIZE_MAX when it concerns none. */
    void (*complain)(void *context, size_t item, size_t sink, const struct hr_fault *fault);
    /* About ten times a second, and once at the end. */
    void (*progress)(void *context, const struct hr_transfer_progress *progress);
};

/* Runs the job to its end. HR_OK when every card was tried (look at cards and items); HR_CANCELLED; HR_INVALID or
 * HR_UNSUPPORTED (SHA-256 is forbidden here) before anything was touched; HR_NOMEM. Memory: 34 MB of blocks and 7 MB a
 * sink, whatever the cards. */
HR_API HR_MUST_USE enum hr_status hr_transfer_run(struct hr_transfer_job *job,
                                                  const struct hr_transfer_observer *observer,
                                                  const struct hr_cancel *cancel, struct hr_fault *fault);

/* Is `name`, the last component of a path, of the shape that copies bear while they are made (".NAME.part")? A card may
 * hold such names of its own. */
HR_API bool hr_transfer_is_part_name(const char *name);

/* How fast SHA-256 is made here, by all digest workers together with nothing else to do: measured in some
 * milliseconds, under 50. 0 where it cannot be made. */
HR_API double hr_transfer_digest_bytes_per_s(void);

#ifdef __cplusplus
}
#endif
#endif
