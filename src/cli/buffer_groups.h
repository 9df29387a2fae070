/* SPDX-License-Identifier: ISC */
/* The stalled bursts of frames that were delivered, by body, card and kinds of files. */
#ifndef HR_CLI_BUFFER_GROUPS_H
#define HR_CLI_BUFFER_GROUPS_H

#include <headrace/buffer.h>
#include <headrace/sequence.h>

#include "cli/cli_output.h"
#include "cli/json_writer.h"

enum { BUFFER_KINDS_SIZE = 32, BUFFER_LABEL_SIZE = 96, BUFFER_BODY_SIZE = 16, BUFFER_COMPARED_HOLD_S = 30 };

enum { BUFFER_PICTURES = 3 };
extern const enum hr_card_file_kind buffer_pictures[BUFFER_PICTURES];

struct buffer_group {
    uint32_t body, card;
    unsigned kinds;                /* bits: 1 << index into buffer_pictures */
    char label[BUFFER_LABEL_SIZE]; /* of the card: its bag, else its folder; fit to be shown */
    int64_t last_local_ns;         /* when the last of its stalls began */
    struct hr_buffer_stall *stalls;
    size_t stall_count, capacity;
    struct hr_buffer_stalls found;
};

struct buffer_groups {
    const struct hr_grouping *grouping;
    struct buffer_group *items; /* by body, kinds, then from the slowest card to the fastest */
    size_t count, capacity;
};

/* `delivered` and `grouping` must outlive the groups, `grouping` alone is kept. On HR_OK and else: buffer_groups_finish
 * releases it. HR_NOMEM. */
HR_MUST_USE enum hr_status buffer_groups_make(struct buffer_groups *out, const struct hr_delivered *delivered,
                                              const struct hr_grouping *grouping, struct hr_fault *fault);
void buffer_groups_finish(struct buffer_groups *groups);

/* The fastest card of the same body with the same kinds, where it is faster than this one by more than cadences are
 * off; else NULL. */
const struct buffer_group *buffer_groups_faster(const struct buffer_groups *groups, const struct buffer_group *group);
double buffer_frames_more(const struct buffer_group *faster, const struct buffer_group *slower, double hold_s);

/* "A"; "27" past Z. */
const char *buffer_body_name(char out[BUFFER_BODY_SIZE], uint32_t body);
/* "raw + jpeg" */
const char *buffer_kinds_name(char out[BUFFER_KINDS_SIZE], unsigned kinds);

void buffer_groups_text(struct cli_output *out, const struct buffer_groups *groups, bool line_only);
void buffer_groups_json(struct json_writer *json, const struct buffer_groups *groups);

#endif
