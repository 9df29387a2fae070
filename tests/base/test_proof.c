/* SPDX-License-Identifier: ISC */
#include <headrace/proof.h>

#include "suite.h"

START_TEST(finds_each_proof_by_the_name_it_stands_in_files_by)
{
    /* The names are a promise: they stand in files.csv of every bag (headrace-bag(5)). */
    static const char *const names[] = {
        [HR_PROOF_NONE] = "none",
        [HR_PROOF_CACHE] = "cache",
        [HR_PROOF_EVICTED] = "evicted",
        [HR_PROOF_DIRECT] = "direct",
    };
    for (enum hr_proof proof = HR_PROOF_NONE; proof <= HR_PROOF_DIRECT; proof++) {
        ck_assert_str_eq(hr_proof_name(proof), names[proof]);
        ck_assert_int_eq(hr_proof_of_name(names[proof]), proof);
    }
    ck_assert_str_eq(hr_proof_name((enum hr_proof)99), "none");
}
END_TEST

START_TEST(takes_no_other_word_for_a_proof)
{
    static const char *const words[] = {"", "Direct", "direct ", "evict", "medium"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        ck_assert_msg(hr_proof_of_name(words[i]) == HR_PROOF_NONE, "%s", words[i]);
    ck_assert_int_eq(hr_proof_of_name(NULL), HR_PROOF_NONE);
}
END_TEST

START_TEST(counts_only_what_was_fetched_from_the_medium)
{
    ck_assert(hr_proof_is_medium(HR_PROOF_DIRECT));
    ck_assert(hr_proof_is_medium(HR_PROOF_EVICTED));
    ck_assert(!hr_proof_is_medium(HR_PROOF_CACHE));
    ck_assert(!hr_proof_is_medium(HR_PROOF_NONE));
}
END_TEST

HR_SUITE("base/proof", finds_each_proof_by_the_name_it_stands_in_files_by, takes_no_other_word_for_a_proof,
         counts_only_what_was_fetched_from_the_medium)
