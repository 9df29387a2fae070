/* SPDX-License-Identifier: ISC */
/* The engine: reads each file of a card once, writes it to every place that wants it, makes it durable, reads it back
 * from the medium, compares, and only then gives it its final name.
 *
 * Fill a job, call hr_transfer_run, read the states off its items. What goes wrong with a file or a place stands on
 * that item or sink; the others go on. The engine knows no bags and no ledger: an observer is told what was proven.
 * A job without sinks only reads the card and makes the digests. */
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

enum { HR_PLACES_MAX = 8 };

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
    struct hr_copy copies[HR_PLACES_MAX]; /* state in and out, one a sink */
    uint8_t status; /* out: enum hr_status of reading it from the card; HR_CANCELLED while never read */
    struct hr_digest xxh128, sha256; /* out: of the bytes as read; HR_DIGEST_NONE until then, or if not asked for */
    int64_t read_at_ns;              /* out: wall time at its first byte, 0 if never */
    int64_t read_ns;                 /* out: time spent reading it */
};

struct hr_transfer_sink {
    const char *data_path;  /* in: existing folder; files land at data_path/<path on the card> */
    const char *aside_path; /* in: where a copy that differs is kept; made when first needed */
    enum hr_status status;  /* out: not HR_OK when the place failed as a whole */
    struct hr_fault fault;  /* out: its first cause */
    char policy[160];       /* out: one line, how this place was written and read back, and why */
};

struct hr_transfer_job {
    const struct hr_card *card;
    struct hr_transfer_item *items; /* in the order they are to be taken */
    size_t item_count;
    struct hr_transfer_sink *sinks;
    size_t sink_count;
    bool make_sha256;
    bool reread_card; /* each file is read from the card a second time, past the cache where possible; two readings that
                         differ fail the file */
};

/* Counters since the run began; they only grow. */
struct hr_stage_count {
    uint64_t bytes;
    uint64_t files;
};
enum hr_sink_activity { HR_SINK_WAITING, HR_SINK_WRITING, HR_SINK_READING_BACK, HR_SINK_DONE, HR_SINK_FAILED };
struct hr_sink_progress {
    struct hr_stage_count written, proven;
    uint64_t read_back_bytes;
    uint32_t queued_blocks; /* waiting for its writer */
    enum hr_sink_activity activity;
};
struct hr_transfer_progress {
    int64_t elapsed_ns;
    struct hr_stage_count read, digested; /* digested: the slowest digest asked for */
    uint32_t pool_blocks, free_blocks;    /* no free block: the card waits for a place */
    bool is_last;                         /* the run is over */
    bool card_is_free; /* every byte is read and safely written: it may leave the reader but not be formatted */
    size_t sink_count;
    struct hr_sink_progress sinks[HR_PLACES_MAX];
};

/* Called on the thread that called hr_transfer_run, never at the same time. Any may be NULL. */
struct hr_transfer_observer {
    void *context;
    /* Item `item`'s copy at `sink` became PROVEN or FAILED for good; digests of the item are complete. */
    void (*copy_settled)(void *context, size_t item, size_t sink);
    /* Something to tell: an attempt that failed (and may be tried anew), a place that failed. `item` or `sink` is
     * SIZE_MAX when it concerns none. */
    void (*complain)(void *context, size_t item, size_t sink, const struct hr_fault *fault);
    /* About ten times a second, and once at the end. */
    void (*progress)(void *context, const struct hr_transfer_progress *progress);
};

/* Runs the job to its end. HR_OK when every item was tried (look at the items); HR_CANCELLED; HR_GONE when the card was
 * pulled; HR_NOMEM or HR_INVALID before anything was touched. Memory: 32 MB of blocks and 4 MB a sink, whatever the
 * card. */
HR_API HR_MUST_USE enum hr_status hr_transfer_run(struct hr_transfer_job *job,
                                                  const struct hr_transfer_observer *observer,
                                                  const struct hr_cancel *cancel, struct hr_fault *fault);

#ifdef __cplusplus
}
#endif
#endif
