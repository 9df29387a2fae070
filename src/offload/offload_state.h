/* SPDX-License-Identifier: ISC */
/* One offload from prepare to result. */
#ifndef HR_OFFLOAD_STATE_H
#define HR_OFFLOAD_STATE_H

#include <headrace/ledger.h>
#include <headrace/offload.h>

#include "base/text.h"
#include "offload/foresee_past.h"
#include "offload/known.h"
#include "platform/volume.h"

/* Sentences collected for a person. */
struct hr_sentences {
    char **lines;
    size_t count, capacity;
};

struct hr_offload_place {
    const char *given; /* as the user wrote it */
    char *path;        /* absolute; NULL when it could not be found */
    struct hr_volume volume;
    bool has_volume;
    char *disks;                 /* hr__disks_text */
    unsigned drive_number;       /* as in struct hr_plan_place; set by hr__preflight */
    struct hr_past_device timed; /* what its speeds are remembered by; set by hr__foresee */
};

/* One card's delivery in one place. */
struct hr_delivery {
    struct hr_bag *bag;   /* NULL: nothing to deliver, or not begun; before the run only looked at */
    size_t resumed_files; /* that an interrupted run left there, proven */
    size_t loose_files;   /* and unproven or unfinished */
    uint64_t loose_bytes;
    int64_t ledger_bag; /* 0: not in the ledger */
    size_t drive;       /* number in the card's `known.drives` */
    size_t files_to_copy;
    uint64_t bytes_to_copy;
    size_t files_proven, files_failed;
    uint64_t bytes_proven;
    size_t proofs[4];      /* by enum hr_proof */
    struct hr_fault fault; /* first cause why the place failed in this delivery */
    char policy[160];
};

struct hr_offload_card {
    struct hr_card *card;
    struct hr_volume volume; /* what it stood on when it was looked at */
    bool has_volume;         /* false: pulled at that moment; reading it will say so */
    char *disks;             /* hr__disks_text */
    struct hr_past_device timed;
    struct hr_inventory *inventory;
    uint32_t *order; /* indices into the inventory's files */
    char job[256];
    struct hr_known known;
    uint8_t *in_places; /* by file: bits of the places that hold it, proven, before the run */
    uint8_t *unproven;  /* by file: bits of the places where it stands under its final name, not recorded as proven: to
                           be read back there */
    unsigned link;      /* cards of one link are read one after the other */
    bool was_pulled;
    bool gave_other_bytes; /* than when it was copied before: what was copied then is to be copied again */
    struct hr_delivery deliveries[HR_PLACES_MAX];
    struct hr_safety *safety;
};

struct hr_offload {
    struct hr_offload_options options;
    struct hr_offload_place places[HR_PLACES_MAX];
    struct hr_offload_card cards[HR_CARDS_MAX];
    size_t card_count; /* opened so far */
    size_t cards_at_once;
    struct hr_ledger *ledger;
    int64_t run;
    int64_t prepared_ns, started_wall_ns, started_ns;

    struct hr_plan_card plan_cards[HR_CARDS_MAX];
    struct hr_plan_place plan_places[HR_PLACES_MAX];
    struct hr_sentences refusals, warnings;
    struct hr_offload_plan plan;
    struct hr_foreseen foreseen; /* zeroed where nothing is to be copied */
    struct hr_result_card result_cards[HR_CARDS_MAX];
    struct hr_offload_result result;
};

/* Takes a zeroed or half-made card, and leaves it zeroed. */
void hr__offload_card_finish(struct hr_offload_card *card);

struct hr_bag_label hr__label_of(const struct hr_offload *offload, const struct hr_offload_card *card);

HR_PRINTF(2, 3) enum hr_status hr__say(struct hr_sentences *sentences, const char *format, ...);
void hr__sentences_finish(struct hr_sentences *sentences);

/* Can a job's name be a folder's? */
bool hr__job_is_fit(const char *job);

/* Steps of prepare, in this order. Each writes nothing. */
HR_MUST_USE enum hr_status hr__prepare_places(struct hr_offload *offload, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__prepare_cards(struct hr_offload *offload, const struct hr_cancel *cancel,
                                             struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__prepare_known(struct hr_offload *offload, const struct hr_cancel *cancel,
                                             struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__preflight(struct hr_offload *offload, struct hr_fault *fault);

#endif
