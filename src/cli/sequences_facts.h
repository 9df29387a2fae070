/* SPDX-License-Identifier: ISC */
/* What screen, JSON and picture say alike of sequences, worked out once. */
#ifndef HR_CLI_SEQUENCES_FACTS_H
#define HR_CLI_SEQUENCES_FACTS_H

#include <headrace/sequence.h>

#include "base/units.h"

/* Everything one run of `sequences` found and made. */
struct sequences_found {
    struct hr_delivered *delivered;
    struct hr_grouping *grouping;
    struct hr_filled *filled;
};

struct sequences_facts {
    size_t most_frames; /* of a sequence */
    size_t stalled;     /* sequences with a stall */
    double frames_lost;
    size_t failed; /* folders of sequences in which something failed */
};
struct sequences_facts sequences_facts_of(const struct sequences_found *found);

/* Of the folder in one place in which the sequences' folders stand. */
struct place_facts {
    size_t folder_size; /* of index_path its first bytes are that folder; 0: there is none */
    size_t folders_new, folders_there;
    size_t failed; /* sequences in this place, whatever their job */
};
struct place_facts place_facts_of(const struct hr_filled *filled, const struct hr_filled_place *place);

/* The one with most frames: its cadence stands for the sequence. */
const struct hr_burst *sequence_main_burst(const struct hr_sequence *sequence);
/* The one whose stall cost most frames; NULL: the buffer never filled. */
const struct hr_burst *sequence_worst_stall(const struct hr_sequence *sequence);
/* One of the busiest: it has three quarters of the most frames or more. */
bool sequence_is_busy(const struct hr_sequence *sequence, const struct sequences_facts *facts);

const struct hr_frame *sequence_frame(const struct sequences_found *found, const struct hr_sequence *sequence,
                                      size_t index);
/* On the camera's own clock. */
int64_t sequence_end_local_ns(const struct hr_sequence *sequence);
/* Its folder in the first place that has one, else its line in an index; NULL: neither. */
const struct hr_filled_sequence *sequence_filled(const struct sequences_found *found, size_t sequence);

/* A pause worth a line: over five minutes without a burst. */
bool sequence_follows_pause(int64_t start_local_ns, int64_t latest_end_local_ns);

/* "20/s", "7.5/s", "-" when it is not known. */
char *format_cadence(char out[HR_UNIT_TEXT_SIZE], double cadence_per_s);
/* "6.0 s", "1 min 04 s". */
char *format_length(char out[HR_UNIT_TEXT_SIZE], int64_t length_ns);

#endif
