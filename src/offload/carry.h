/* SPDX-License-Identifier: ISC */
/* Carrying the cards: bags are begun, the engine runs, what it proves is written down, and each card's bags are closed
 * as soon as it is settled. A place's number is its sink's. */
#ifndef HR_OFFLOAD_CARRY_H
#define HR_OFFLOAD_CARRY_H

#include "offload/deadline.h"
#include "offload/foresee_learn.h"
#include "offload/heads.h"
#include "offload/meter.h"
#include "offload/offload_state.h"
#include "offload/throughput.h"

/* One file of the run. */
struct hr_carry_file {
    uint8_t left;   /* bits of places that have not settled it */
    bool is_proven; /* in this run, in some place */
    bool is_done;   /* and in every place that still worked then: counted */
};

/* Counts of a run. */
struct hr_carry_totals {
    uint64_t read_bytes, written_bytes[HR_PLACES_MAX], read_back_bytes[HR_PLACES_MAX], proven_bytes[HR_PLACES_MAX];
    uint64_t done_bytes; /* of the files done */
    size_t files_done, frames_done, failures;
};

/* One card of the run. */
struct hr_carry_card {
    bool is_under_way, is_done;          /* begun to be read; settled */
    size_t rows;                         /* of its throughput.csv */
    uint32_t *frame_left;                /* by frame: its files not done yet */
    uint8_t frames_begun, frames_failed; /* bits of places: its frames.csv has a header; could not be written */
};

struct hr_carry {
    struct hr_offload *offload; /* set once, as all down to the totals */
    const struct hr_offload_observer *observer;
    const struct hr_cancel *cancel;
    size_t frames_total;
    uint64_t place_total[HR_PLACES_MAX];
    struct hr_carry_totals now;
    struct hr_meter meter;
    struct hr_throughput throughput;
    struct hr_learn learn;
    int64_t copied_ns; /* as in the result, as the next */
    bool stopped_at_deadline;
    struct hr_deadline deadline; /* where there is one */
    struct hr_transfer_progress latest;
    int64_t committed_ns; /* when the ledger's open step began; 0: none is open */

    struct hr_transfer_job job;
    struct hr_transfer_card job_cards[HR_CARDS_MAX];
    struct hr_transfer_sink sinks[HR_PLACES_MAX];
    struct hr_carry_card cards[HR_CARDS_MAX];
    struct hr_carry_file *files; /* by item */
    struct hr_heads heads;
};

bool hr__carry_has_deadline(const struct hr_carry *carry);

/* HR_OK when every card was tried, HR_CANCELLED, HR_NOMEM. What happened is in the result and the deliveries. */
HR_MUST_USE enum hr_status hr__carry_run(struct hr_carry *carry, const struct hr_cancel *cancel,
                                         struct hr_fault *fault);

/* The bags of a card, begun or gone on with, become its landings; a place whose bag cannot be has none. */
HR_MUST_USE enum hr_status hr__deliveries_begin(struct hr_carry *carry, size_t card, struct hr_fault *fault);
/* Items of a card for what is wanted anywhere, in the order it is to be taken. */
HR_MUST_USE enum hr_status hr__deliveries_items(struct hr_carry *carry, size_t card, struct hr_fault *fault);
/* The card is settled: its bags that hold all they could get are finished; the rest stay as they are, to be gone on
 * with. */
void hr__deliveries_end(struct hr_carry *carry, size_t card);

/* Does the frame hold a picture or a clip? */
bool hr__frame_is_camera(const struct hr_inventory *inventory, size_t frame);

/* Of a run that did all it was to: what it shows of its devices, and what was foreseen of it against what came. */
void hr__carry_remember(struct hr_carry *carry);

/* The observer of the engine. */
extern const struct hr_transfer_observer hr__carry_observer;
void hr__carry_progress(void *carry, const struct hr_transfer_progress *progress);
/* What the item's head says goes into every bag that gets the item. */
void hr__carry_item_read(void *carry, size_t item);
/* The log of a card gets its last row; before its bags are closed. */
void hr__carry_last_row(struct hr_carry *carry, size_t card);

void hr__carry_event(struct hr_carry *carry, const struct hr_offload_event *event);
/* `card` SIZE_MAX: it concerns none. */
void hr__carry_note(struct hr_carry *carry, size_t card, const char *text);

/* The ledger, as far as there is one: the first failure is told once and ends its use. */
void hr__carry_ledger_failed(struct hr_carry *carry, const struct hr_fault *fault);
/* What is proven is written down in steps of a second: a step a file would cost a sync each. Begins one where none is
 * open; false without a ledger. */
bool hr__carry_ledger_step(struct hr_carry *carry);
void hr__carry_ledger_commit(struct hr_carry *carry);
/* Notes a proven copy in the ledger's bag `bag` (0: none). Becomes durable with the next commit. */
void hr__carry_ledger_row(struct hr_carry *carry, size_t card, const struct hr_bag_file *row, int64_t bag);

#endif
