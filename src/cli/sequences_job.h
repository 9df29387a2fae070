/* SPDX-License-Identifier: ISC */
/* The three steps of `sequences` as one, for the command itself and for `offload --sequences`. */
#ifndef HR_CLI_SEQUENCES_JOB_H
#define HR_CLI_SEQUENCES_JOB_H

#include "cli/cli.h"
#include "cli/sequences_facts.h"

struct sequences_job {
    const char *const *paths; /* places, bags, folders */
    size_t path_count;
    struct hr_grouping_options grouping;
    struct hr_fill_options fill;
};

/* Says on a terminal what is going on. On HR_OK *out is whole, and released by sequences_finish(); on any other status
 * there is nothing to release. As hr_delivered_create(), hr_grouping_create() and hr_sequences_fill(). */
HR_MUST_USE enum hr_status sequences_make(struct sequences_found *out, const struct cli_call *call,
                                          const struct sequences_job *job, struct hr_fault *fault);
/* The same without filling: `filled` is NULL, and nothing is written anywhere. */
HR_MUST_USE enum hr_status sequences_find(struct sequences_found *out, const struct cli_call *call,
                                          const struct sequences_job *job, struct hr_fault *fault);
void sequences_finish(struct sequences_found *found);

#endif
