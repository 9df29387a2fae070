/* SPDX-License-Identifier: ISC */
/* How well one grouping of items agrees with another, by pairs of items. */
#ifndef HR_TESTS_PAIR_SCORE_H
#define HR_TESTS_PAIR_SCORE_H

#include <stddef.h>
#include <stdint.h>

/* A pair is together when both its items have one label. precision: of the pairs together in `found`, the share that is
 * together in `truth`; recall: the other way round. */
struct pair_score {
    double f1;            /* 2 P R / (P + R); 1 when no pair is together in either */
    double adjusted_rand; /* Hubert and Arabie 1985 */
};

struct pair_score pair_score(const uint32_t *truth, const uint32_t *found, size_t count);

#endif
