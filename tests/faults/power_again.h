/* SPDX-License-Identifier: ISC */
/* The same command again, through the library. */
#ifndef HR_TESTS_POWER_AGAIN_H
#define HR_TESTS_POWER_AGAIN_H

#include <stdbool.h>
#include <stddef.h>

#include <headrace/status.h>

/* "offload", "again" (the same: the recorded run went on where another was killed), "sequences" (it fills sequences
 * too), or a way of filling, "link", "copy", "move". False, and why in the fault, when not all was done. */
bool power_again(const char *job, const char *card, const char *place, struct hr_fault *fault);

/* How many copies the drive with the most is believed to hold when it is asked whether the card is safe; `is_safe`: the
 * answer. False when the question itself failed; a ledger that is not there believes nothing. */
bool power_believes(size_t *copies, bool *is_safe, const char *card, struct hr_fault *fault);

/* Every bag in the place is valid. */
bool power_bags_are_valid(const char *place, struct hr_fault *fault);

#endif
