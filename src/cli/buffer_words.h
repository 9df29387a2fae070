/* SPDX-License-Identifier: ISC */
/* Figures of `buffer` as they are typed. All HR_INVALID with one sentence. */
#ifndef HR_CLI_BUFFER_WORDS_H
#define HR_CLI_BUFFER_WORDS_H

#include <headrace/buffer.h>

#include "cli/options.h"

/* "40:257": at 40 frames a second it stopped after 257. */
HR_MUST_USE enum hr_status buffer_take_counts(struct hr_buffer_count out[CLI_LIST_MAX], const struct cli_texts *texts,
                                              struct hr_fault *fault);

/* --hold "3s@40", "3s" or "3" (then at `per_s`, which is 0 when no rate was given), and --rest "2s" after one. */
HR_MUST_USE enum hr_status buffer_take_play(struct hr_hold out[HR_HOLDS_MAX], size_t *count,
                                            const struct cli_series *series, double per_s, struct hr_fault *fault);

/* "75%:20", or several with commas between. */
HR_MUST_USE enum hr_status buffer_take_easings(struct hr_easing out[HR_EASINGS_MAX], size_t *count, const char *text,
                                               struct hr_fault *fault);

/* "21" or "21=card B"; *name is NULL or points into `text`. */
HR_MUST_USE enum hr_status buffer_take_drain(double *per_s, const char **name, const char *text,
                                             struct hr_fault *fault);

#endif
