/* SPDX-License-Identifier: ISC */
/* What did they mean? For a sentence, never for acting on it. */
#ifndef HR_CLI_SUGGEST_H
#define HR_CLI_SUGGEST_H

#include <stddef.h>

struct suggestion {
    const char *typed;
    size_t typed_size;
    const char *best; /* NULL: nothing is near enough */
    size_t best_distance;
};

/* Start with {.typed, .typed_size}, offer every candidate, read `best`. */
void suggestion_offer(struct suggestion *suggestion, const char *candidate);

/* Insertions, deletions, changes and swaps of neighbours that lead from one to the other (optimal string alignment). */
size_t suggestion_distance(const char *a, size_t a_size, const char *b, size_t b_size);

#endif
