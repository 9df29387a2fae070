/* SPDX-License-Identifier: ISC */
/* A run that must be over by a moment: which file may still be begun?
 *
 * One may when all that is begun, and it, would be verified in time. What is begun and not yet done is a job of
 * <headrace/forecast.h>: stages that the run itself has shown go at the speed it showed, others at the upper bound of
 * what was foreseen. The counters are told on the caller's thread, the question comes from the threads that read cards.
 */
#ifndef HR_OFFLOAD_DEADLINE_H
#define HR_OFFLOAD_DEADLINE_H

#include <headrace/offload.h>

#include "offload/foresee_learn.h"
#include "platform/thread.h"

struct hr_deadline {
    int64_t at_ns; /* on the monotonic clock; set once, as all down to the lock */
    const struct hr_transfer_item *items;
    const struct hr_foreseen *foreseen;
    struct hr_lock lock;
    /* Guarded by the lock. */
    bool is_shut;
    struct hr_forecast_job job; /* what is begun, in all, at the speeds that are believed now */
    struct hr_transfer_progress done;
    struct hr_last_sync {
        uint64_t durable_bytes, read_back_bytes;
        int64_t at_ns;
    } syncs[HR_PLACES_MAX]; /* what each place had done when its last sync was told */
};

void hr__deadline_init(struct hr_deadline *deadline, int64_t at_ns, const struct hr_transfer_item *items,
                       const struct hr_foreseen *foreseen);
void hr__deadline_finish(struct hr_deadline *deadline);
/* For a struct hr_transfer_gate; `context` is the deadline. Once false it stays so. */
bool hr__deadline_may_begin(void *context, size_t item);
/* What is done by now, and what was learnt of the devices so far. */
void hr__deadline_note(struct hr_deadline *deadline, const struct hr_transfer_progress *done,
                       const struct hr_learn *learn);
bool hr__deadline_is_shut(struct hr_deadline *deadline);

/* Of what the place has written and not synced yet, the bytes that went to the drive in the `seconds` since its last
 * sync, at `bytes_per_s`, of which it also read back. Pure. */
double hr__deadline_sent_since(const struct hr_sink_progress *done, const struct hr_last_sync *sync, double seconds,
                               double bytes_per_s);
/* Seconds until all that is begun is verified. Pure. */
double hr__deadline_left(const struct hr_forecast_job *begun, const struct hr_transfer_progress *done);

#endif
