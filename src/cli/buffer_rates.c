/* SPDX-License-Identifier: ISC */
#include "cli/buffer_rates.h"

static const double usual_per_s[] = {10, 12, 15, 20, 25, 30, 40};
enum { USUAL_COUNT = sizeof usual_per_s / sizeof *usual_per_s };
_Static_assert(USUAL_COUNT + CLI_LIST_MAX + HR_HOLDS_MAX <= BUFFER_RATES_MAX, "room for counts and holds");

void buffer_rates_init(struct buffer_rates *rates)
{
    *rates = (struct buffer_rates){.count = USUAL_COUNT};
    for (size_t i = 0; i < USUAL_COUNT; i++)
        rates->items[i].per_s = usual_per_s[i];
}

void buffer_rates_add(struct buffer_rates *rates, double per_s, const struct hr_buffer_count *count)
{
    size_t at = rates->count;
    while (at > 0 && rates->items[at - 1].per_s > per_s)
        at--;
    if (at > 0 && rates->items[at - 1].per_s == per_s && (!rates->items[at - 1].count || !count)) {
        if (count)
            rates->items[at - 1].count = count;
        return;
    }
    for (size_t i = rates->count++; i > at; i--)
        rates->items[i] = rates->items[i - 1];
    rates->items[at].per_s = per_s;
    rates->items[at].count = count;
}
