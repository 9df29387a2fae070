/* SPDX-License-Identifier: ISC */
/* Carrying one card: bags are begun, the engine runs, what it proves is written down, bags are closed, the verdict is
 * given. */
#ifndef HR_OFFLOAD_CARRY_H
#define HR_OFFLOAD_CARRY_H

#include "offload/meter.h"
#include "offload/offload_state.h"
#include "offload/throughput.h"

/* Counts over all cards of a run. */
struct hr_carry_totals {
    uint64_t read_bytes, written_bytes[HR_PLACES_MAX], read_back_bytes[HR_PLACES_MAX], proven_bytes[HR_PLACES_MAX];
    size_t files_done, frames_done, failures;
};

struct hr_carry {
    struct hr_offload *offload; /* set once, as all down to the totals */
    const struct hr_offload_observer *observer;
    const struct hr_cancel *cancel;
    size_t frames_total;
    uint64_t place_total[HR_PLACES_MAX];
    struct hr_carry_totals before; /* of the cards before this one */
    struct hr_carry_totals now;
    struct hr_meter meter;

    /* the card under way */
    size_t card;
    struct hr_transfer_job job;
    struct hr_transfer_sink sinks[HR_PLACES_MAX];
    size_t place_of[HR_PLACES_MAX]; /* by sink */
    uint8_t *files_left;            /* by item: sinks that have not settled it */
    uint32_t *frame_left;           /* by frame: its files not done yet */
    struct hr_throughput throughput;
    int64_t committed_ns; /* when the ledger's open step began; 0: none is open */
    bool told_free;
};

/* HR_OK when the card was tried, HR_CANCELLED, HR_NOMEM. What happened is in the result and the deliveries. */
HR_MUST_USE enum hr_status hr__carry_card(struct hr_carry *carry, size_t card, struct hr_fault *fault);

/* The bags of the card, begun or gone on with, become sinks of the job; a place whose bag cannot be is failed. */
HR_MUST_USE enum hr_status hr__deliveries_begin(struct hr_carry *carry, struct hr_fault *fault);
/* Items for what is wanted anywhere, in the order it is to be taken. */
HR_MUST_USE enum hr_status hr__deliveries_items(struct hr_carry *carry, struct hr_fault *fault);
/* Bags that hold all they could get are finished; the rest stay as they are, to be gone on with. */
void hr__deliveries_end(struct hr_carry *carry, enum hr_status how_it_went);

/* Does the frame hold a picture or a clip? */
bool hr__frame_is_camera(const struct hr_inventory *inventory, size_t frame);

/* The observer of the engine. */
extern const struct hr_transfer_observer hr__carry_observer;

void hr__carry_event(struct hr_carry *carry, const struct hr_offload_event *event);
void hr__carry_note(struct hr_carry *carry, const char *text);

/* The ledger, as far as there is one: the first failure is told once and ends its use. */
void hr__carry_ledger_failed(struct hr_carry *carry, const struct hr_fault *fault);
void hr__carry_ledger_commit(struct hr_carry *carry);
/* Notes a proven copy in the ledger's bag `bag` (0: none). Becomes durable with the next commit. */
void hr__carry_ledger_row(struct hr_carry *carry, const struct hr_bag_file *row, int64_t bag);

#endif
