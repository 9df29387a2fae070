/* SPDX-License-Identifier: ISC */
/* One run out of the ledger: what its stages moved, second by second, and which of them held it up.
 *
 * history_init, history_take_run, history_take_sample for each, history_close once, then read; history_finish at last.
 */
#ifndef HR_CLI_RUN_HISTORY_H
#define HR_CLI_RUN_HISTORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/ledger.h>
#include <headrace/transfer.h>

#include "base/text.h"

enum history_stage { HISTORY_CARD, HISTORY_DIGEST, HISTORY_WRITE, HISTORY_READ_BACK, HISTORY_STAGE_COUNT };

struct history_point {
    int64_t from_ns, to_ns; /* since the run began */
    uint64_t bytes;
};
/* One stage of one place; cards and digests of all cards are one lane each. */
struct history_lane {
    enum history_stage stage;
    size_t place; /* for WRITE and READ_BACK */
    struct history_point *points;
    size_t point_count, point_capacity;
    /* Set by history_close. */
    uint64_t bytes;
    int64_t busy_ns;         /* time in which it moved anything */
    double mean_bytes_per_s; /* while busy */
    double peak_bytes_per_s; /* of the best sample */
    unsigned queue_percent;  /* mean fill of the queue before it */
    uint64_t queue_sum;
};
enum { HISTORY_LANES_MAX = 2 + 2 * HR_PLACES_MAX };
struct run_history {
    struct hr_ledger_run run; /* strings owned */
    char *places[HR_PLACES_MAX];
    size_t place_count;
    struct history_lane lanes[HISTORY_LANES_MAX]; /* card, digest, then write and read-back of each place */
    size_t lane_count;
    int64_t end_ns;
    bool has_moved;
    const struct history_lane *slowest; /* what held it up; NULL when it was too short to tell */
    bool is_short_of_memory;
};

void history_init(struct run_history *history);
void history_finish(struct run_history *history);
void history_take_run(struct run_history *history, const struct hr_ledger_run *run);
void history_take_sample(struct run_history *history, const struct hr_ledger_sample *sample);
void history_close(struct run_history *history);

double history_rate(const struct history_point *point);
/* "read-back of /mnt/backup (148 MB/s)": what held the run up; "" when that cannot be told. */
void history_describe_slowest(struct hr_text *out, const struct run_history *history);
/* "card", "digest", "write", "read back". */
const char *history_stage_name(enum history_stage stage);
/* The path of a place lane, "" for the others. */
const char *history_lane_place(const struct run_history *history, const struct history_lane *lane);

#endif
