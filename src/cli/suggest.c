/* SPDX-License-Identifier: ISC */
#include "cli/suggest.h"

#include <string.h>

enum { WORD_MAX = 32 };

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

size_t suggestion_distance(const char *a, size_t a_size, const char *b, size_t b_size)
{
    size_t rows[3][WORD_MAX + 1];
    if (a_size > WORD_MAX || b_size > WORD_MAX)
        return WORD_MAX;
    for (size_t j = 0; j <= b_size; j++)
        rows[0][j] = j;
    for (size_t i = 1; i <= a_size; i++) {
        size_t *now = rows[i % 3], *before = rows[(i + 2) % 3], *earlier = rows[(i + 1) % 3];
        now[0] = i;
        for (size_t j = 1; j <= b_size; j++) {
            now[j] = least(least(before[j], now[j - 1]) + 1, before[j - 1] + (a[i - 1] != b[j - 1]));
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                now[j] = least(now[j], earlier[j - 2] + 1);
        }
    }
    return rows[a_size % 3][b_size];
}

void suggestion_offer(struct suggestion *suggestion, const char *candidate)
{
    size_t size = strlen(candidate);
    size_t distance = suggestion_distance(suggestion->typed, suggestion->typed_size, candidate, size);
    /* The beginning of a word is a wish for the whole of it. */
    if (suggestion->typed_size >= 2 && strncmp(suggestion->typed, candidate, suggestion->typed_size) == 0)
        distance = 0;
    size_t near_enough = size < 5 ? 1 : 2;
    if (distance <= near_enough && (!suggestion->best || distance < suggestion->best_distance)) {
        suggestion->best = candidate;
        suggestion->best_distance = distance;
    }
}
