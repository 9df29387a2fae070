/* SPDX-License-Identifier: ISC */
/* What is still to come of each card, kept by the caller's thread: when a card may leave its reader, when all of it is
 * settled, and which proven copies wait for their SHA-256. Pure bookkeeping on what it is told. */
#ifndef HR_TRANSFER_ACCOUNT_H
#define HR_TRANSFER_ACCOUNT_H

#include <headrace/transfer.h>

/* Counts of copies, by sink. */
struct hr_card_account {
    uint32_t not_durable[HR_PLACES_MAX], not_settled[HR_PLACES_MAX];
    bool was_read; /* to its end, in some pass */
    bool told_free, told_settled;
};

struct hr_account {
    struct hr_card_account cards[HR_CARDS_MAX];
    size_t sink_count;
    uint8_t *unreported; /* by item: sinks whose proven copy waits for its SHA-256 */
};

/* From the states of the job's items. HR_NOMEM. */
HR_MUST_USE enum hr_status hr__account_open(struct hr_account *account, const struct hr_transfer_job *job,
                                            struct hr_fault *fault);
void hr__account_close(struct hr_account *account);

/* A place failed as a whole: nothing more comes of it. */
void hr__account_drop_sink(struct hr_account *account, size_t sink);
/* Nothing of it is missing on any drive that still works. */
bool hr__account_is_free(const struct hr_account *account, size_t card);
bool hr__account_is_settled(const struct hr_account *account, size_t card);

#endif
