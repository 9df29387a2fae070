/* SPDX-License-Identifier: ISC */
/* How fast each device was in a run: of the seconds in which it was what the others waited for, or had itself alone.
 * Of other seconds a device is only known to be no slower than it went.
 *
 * What is learnt is a scale: how much longer the device took than by the speed that was foreseen of it. Both parts of a
 * speed get it, since files of nearly one size do not tell them apart; and where reading and writing share one budget
 * both directions, whatever their mix was. */
#ifndef HR_OFFLOAD_FORESEE_LEARN_H
#define HR_OFFLOAD_FORESEE_LEARN_H

#include <headrace/offload.h>

#include "offload/throughput.h"

/* Bytes that were moved in the busy seconds of a device. */
struct hr_learnt {
    double write_bytes, read_bytes, seconds;
};

/* By card; by device, which is that of the first place on it. Zeroed is new. */
struct hr_learn {
    struct hr_learnt cards[HR_CARDS_MAX];
    struct hr_learnt budgets[HR_PLACES_MAX];                      /* of reading and writing together */
    struct hr_learnt writes[HR_PLACES_MAX], reads[HR_PLACES_MAX]; /* where each has its own */
    struct hr_learnt all[HR_PLACES_MAX];                          /* and in seconds in which it may have been idle */
    struct hr_throughput_row rows[2]; /* the last two: a second counts between two of its like, for the first and the
                                         last of a spell are not full */
};

void hr__learn_row(struct hr_learn *learn, const struct hr_throughput_row *row, const struct hr_forecast_job *job);

/* The speed of a card of the job; false when too little was seen. */
bool hr__learn_card(struct hr_speed *read, const struct hr_learn *learn, const struct hr_forecast_job *job,
                    size_t card);
/* The speeds of a place's device. Of a direction too little may be seen: its speed is scaled where the other shares its
 * budget, else as it was foreseen, but no slower than it went. */
struct hr_learnt_place {
    struct hr_speed write, read_back;
    bool has_write, has_read_back;           /* of busy seconds: it is this fast */
    bool was_written_to, was_read_back_from; /* seen itself, by these or as one that goes no slower */
};
struct hr_learnt_place hr__learn_place(const struct hr_learn *learn, const struct hr_forecast_job *job, size_t place);

#endif
