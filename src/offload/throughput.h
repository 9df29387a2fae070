/* SPDX-License-Identifier: ISC */
/* The log of a run's rates: a row a second. */
#ifndef HR_OFFLOAD_THROUGHPUT_H
#define HR_OFFLOAD_THROUGHPUT_H

#include <headrace/transfer.h>

#include "base/text.h"

/* What moved in one second. */
struct hr_throughput_row {
    uint64_t second;                      /* since the transfer began, from 1 */
    int64_t took_ns;                      /* since the last row */
    uint64_t bytes_of_card[HR_CARDS_MAX]; /* all else is of all cards */
    uint64_t digest_bytes;
    uint32_t pool_percent; /* of the blocks in use: 100 means the cards waited for a place */
    size_t place_count;
    struct {
        uint64_t write_bytes, read_back_bytes;
        uint32_t queue_percent; /* of the blocks that wait for this place */
    } places[HR_PLACES_MAX];
};

/* Zeroed is new. */
struct hr_throughput {
    struct hr_transfer_progress last;
};

/* What moved since the last row, whenever that was. */
struct hr_throughput_row hr__throughput_since(const struct hr_throughput *throughput,
                                              const struct hr_transfer_progress *now);
/* True when a second has passed since the last row, or at the transfer's end for what is left of one. */
bool hr__throughput_row(struct hr_throughput_row *row, struct hr_throughput *throughput,
                        const struct hr_transfer_progress *now);

/* The lines of throughput.csv, without LF; in the bag of `card` card_bytes are those read from it. */
void hr__throughput_header(struct hr_text *out, size_t place_count);
void hr__throughput_line(struct hr_text *out, const struct hr_throughput_row *row, size_t card);

#endif
