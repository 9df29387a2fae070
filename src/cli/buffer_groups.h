/* SPDX-License-Identifier: ISC */
/* The stalled bursts of frames that were delivered, by body, card and kinds of files. */
#ifndef HR_CLI_BUFFER_GROUPS_H
#define HR_CLI_BUFFER_GROUPS_H

#include <headrace/buffer.h>
#include <headrace/sequence.h>

#include "cli/cli_output.h"
#include "cli/json_writer.h"

enum { BUFFER_FILES_SIZE = 48, BUFFER_LABEL_SIZE = 96, BUFFER_BODY_SIZE = 16, BUFFER_COMPARED_HOLD_S = 30 };

/* Noise makes files larger: bands two stops wide (common practice, no source), told apart where each of them has enough
 * stalls. */
enum buffer_iso { BUFFER_ISO_ANY, BUFFER_ISO_LOW, BUFFER_ISO_MIDDLE, BUFFER_ISO_HIGH, BUFFER_ISO_COUNT };
enum { BUFFER_STALLS_ENOUGH = 3 };

enum { BUFFER_PICTURES = 3 };
extern const enum hr_card_file_kind buffer_pictures[BUFFER_PICTURES];

struct buffer_group {
    uint32_t body, card;
    unsigned kinds; /* bits: 1 << index into buffer_pictures */
    enum buffer_iso iso;
    char label[BUFFER_LABEL_SIZE]; /* of the card: its bag, else its folder; fit to be shown */
    int64_t last_local_ns;         /* when the last of its stalls began */
    struct hr_buffer_stall *stalls;
    size_t stall_count, capacity;
    struct hr_buffer_stalls found;
};

struct buffer_groups {
    const struct hr_grouping *grouping;
    struct buffer_group *items; /* by body, kinds, ISO, then from the slowest card to the fastest */
    size_t count, capacity;
};

/* `delivered` and `grouping` must outlive the groups, `grouping` alone is kept. On HR_OK and else: buffer_groups_finish
 * releases it. HR_NOMEM. */
HR_MUST_USE enum hr_status buffer_groups_make(struct buffer_groups *out, const struct hr_delivered *delivered,
                                              const struct hr_grouping *grouping, struct hr_fault *fault);
void buffer_groups_finish(struct buffer_groups *groups);

/* The fastest card of the same body with the same kinds and ISO, where it is faster than this one by more than cadences
 * are off; else NULL. */
const struct buffer_group *buffer_groups_faster(const struct buffer_groups *groups, const struct buffer_group *group);
double buffer_frames_more(const struct buffer_group *faster, const struct buffer_group *slower, double hold_s);

/* "A"; "27" past Z. */
const char *buffer_body_name(char out[BUFFER_BODY_SIZE], uint32_t body);
/* "to 800"; NULL for BUFFER_ISO_ANY. */
const char *buffer_iso_name(enum buffer_iso iso);
/* "raw + jpeg", "jpeg, ISO to 800" */
const char *buffer_files_name(char out[BUFFER_FILES_SIZE], const struct buffer_group *group);

void buffer_groups_text(struct cli_output *out, const struct buffer_groups *groups, bool line_only);
void buffer_groups_json(struct json_writer *json, const struct buffer_groups *groups);

#endif
