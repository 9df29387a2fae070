/* SPDX-License-Identifier: ISC */
/* What `offload --sequences` does once the copies stand: their verdict is given, nothing here changes it. */
#ifndef HR_CLI_OFFLOAD_SEQUENCES_H
#define HR_CLI_OFFLOAD_SEQUENCES_H

#include <headrace/offload.h>

#include "cli/cli.h"
#include "cli/json_writer.h"
#include "cli/sequences_facts.h"

struct offload_sequences {
    bool has_run; /* not when no job folder stands */
    enum hr_status status;
    struct hr_fault fault;
    struct sequences_found found; /* when it has run, and status is HR_OK */
};

/* Groups what stands in the job folders of this run, in every place that works, and fills the folders of sequences,
 * also where nothing was new: an earlier run may have been cut off here. Says on stderr when it could not. Released by
 * offload_sequences_finish(), whatever came of it. */
void offload_sequences_make(struct offload_sequences *sequences, const struct cli_call *call,
                            const struct hr_offload_plan *plan, const struct hr_offload_result *result);
void offload_sequences_finish(struct offload_sequences *sequences);
bool offload_sequences_failed(const struct offload_sequences *sequences);

/* Some lines below the result, one when quiet. */
void offload_sequences_text(const struct cli_call *call, const struct offload_sequences *sequences);
/* The member "sequences" of an open object; null when no job folder stands. */
void offload_sequences_member(struct json_writer *json, const struct offload_sequences *sequences);
/* The same as an event, a line by itself; nothing when no job folder stands. */
void offload_sequences_event(struct json_writer *json, const struct offload_sequences *sequences);

#endif
