/* SPDX-License-Identifier: ISC */
/* The rates of a table: the usual ones, and others worth a row, from slow to fast. */
#ifndef HR_CLI_BUFFER_RATES_H
#define HR_CLI_BUFFER_RATES_H

#include <headrace/buffer.h>

#include "cli/options.h"

enum { BUFFER_RATES_MAX = 8 + CLI_LIST_MAX + HR_HOLDS_MAX };

struct buffer_rates {
    struct {
        double per_s;
        const struct hr_buffer_count *count; /* NULL: not counted */
    } items[BUFFER_RATES_MAX];
    size_t count;
};

void buffer_rates_init(struct buffer_rates *rates);
/* A rate that is there already gets another row only for another count. */
void buffer_rates_add(struct buffer_rates *rates, double per_s, const struct hr_buffer_count *count);

#endif
