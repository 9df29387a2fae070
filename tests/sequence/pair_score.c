/* SPDX-License-Identifier: ISC */
#include "pair_score.h"

#include <stdlib.h>

struct labels {
    uint32_t truth, found;
};

static int compare_truth(const void *left, const void *right)
{
    const struct labels *a = left, *b = right;
    return (a->truth > b->truth) - (a->truth < b->truth);
}

static int compare_found(const void *left, const void *right)
{
    const struct labels *a = left, *b = right;
    return (a->found > b->found) - (a->found < b->found);
}

static int compare_both(const void *left, const void *right)
{
    int order = compare_truth(left, right);
    return order ? order : compare_found(left, right);
}

static double pairs(size_t count)
{
    return (double)count * (double)(count - 1) / 2;
}

/* Pairs together, once sorted by `compare`. */
static double pairs_by(struct labels *labels, size_t count, int (*compare)(const void *, const void *))
{
    double sum = 0;
    size_t run = 0;
    qsort(labels, count, sizeof *labels, compare);
    for (size_t i = 0; i < count; i++) {
        run = i > 0 && compare(&labels[i - 1], &labels[i]) == 0 ? run + 1 : 1;
        sum += (double)(run - 1);
    }
    return sum;
}

struct pair_score pair_score(const uint32_t *truth, const uint32_t *found, size_t count)
{
    struct labels *labels = calloc(count + 1, sizeof *labels);
    if (!labels)
        abort();
    for (size_t i = 0; i < count; i++)
        labels[i] = (struct labels){truth[i], found[i]};
    double in_truth = pairs_by(labels, count, compare_truth), in_found = pairs_by(labels, count, compare_found),
           in_both = pairs_by(labels, count, compare_both);
    free(labels);
    double expected = count > 1 ? in_truth * in_found / pairs(count) : 0, most = (in_truth + in_found) / 2;
    return (struct pair_score){.f1 = in_truth + in_found > 0 ? 2 * in_both / (in_truth + in_found) : 1,
                               .adjusted_rand = most > expected ? (in_both - expected) / (most - expected) : 1};
}
