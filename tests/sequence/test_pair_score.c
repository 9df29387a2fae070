/* SPDX-License-Identifier: ISC */
#include <string.h>

#include "pair_score.h"
#include "suite.h"

static struct pair_score score_of(const char *truth, const char *found)
{
    uint32_t a[16], b[16];
    size_t count = strlen(truth);
    for (size_t i = 0; i < count; i++) {
        a[i] = (uint32_t)truth[i];
        b[i] = (uint32_t)found[i];
    }
    return pair_score(a, b, count);
}

/* The first two rows are the documented example of scikit-learn for the adjusted Rand index, the others are computed by
 * hand from the definition. */
START_TEST(agrees_with_worked_examples)
{
    static const struct {
        const char *truth, *found;
        double f1, adjusted_rand;
    } rows[] = {
        {"0011", "0012", 2.0 / 3, 0.571429},
        {"0012", "0011", 2.0 / 3, 0.571429},
        {"0000", "0123", 0, 0},
        {"0011", "0101", 0, -0.5},
        {"0000011111", "0000111111", 0.780488, 0.597015},
        {"0000011111", "0000000000", 0.615385, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pair_score score = score_of(rows[i].truth, rows[i].found);
        ck_assert_double_eq_tol(score.f1, rows[i].f1, 1e-6);
        ck_assert_double_eq_tol(score.adjusted_rand, rows[i].adjusted_rand, 1e-6);
    }
}
END_TEST

START_TEST(is_one_for_the_same_grouping_under_other_names)
{
    struct pair_score score = score_of("0011222", "7744111");
    ck_assert_double_eq(score.f1, 1);
    ck_assert_double_eq(score.adjusted_rand, 1);
}
END_TEST

HR_SUITE("sequence/pair_score", agrees_with_worked_examples, is_one_for_the_same_grouping_under_other_names)
