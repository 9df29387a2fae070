/* SPDX-License-Identifier: ISC */
/* What faulty_volume knows while it is mounted: its rules, how often each file was opened, what waits for a sync, and
 * the log of the harm it did.
 *
 * A log line is written before the caller has its answer: RULE CALL HARM OFFSET SIZE PATH, rules counted from 1, blanks
 * and all that is not printable in PATH as %XX; for data harm OFFSET is that of the byte that was hit. */
#ifndef HR_TESTS_FAULTY_STATE_H
#define HR_TESTS_FAULTY_STATE_H

#include "faulty_rules.h"

struct faulty_state;

/* `log_path` NULL: no log. NULL, after a word on stderr, when that cannot be opened. Lives until the process ends. */
struct faulty_state *faulty_state_create(const struct faulty_rules *rules, const char *log_path);

/* What is to be done to the call; waits as long as slow rules say. `*error` is the errno the call must fail with, or 0.
 * Any thread. */
struct faulty_verdict faulty_state_meet(int *error, struct faulty_state *state, const struct faulty_event *event);
/* The verdict's harm was done, or came to nothing. */
void faulty_state_done(struct faulty_state *state, struct faulty_verdict *verdict, const struct faulty_event *event,
                       bool did_harm);

/* The file `inode` is opened once more under `path`: the how-manieth time that is. A new file begins with nothing
 * waiting for a sync. */
uint64_t faulty_state_opened(struct faulty_state *state, const char *path, uint64_t inode, bool is_new);

/* The first bytes of a call on `path` are kept, for harm to other files. */
void faulty_state_passed(struct faulty_state *state, const char *path, const void *bytes, size_t size);
/* A block of the file that passed last and is not `path`; none when there was no other. */
struct faulty_block faulty_state_foreign(struct faulty_state *state, const char *path);

struct faulty_span {
    uint64_t begin, end;
};
void faulty_state_wrote(struct faulty_state *state, uint64_t inode, struct faulty_span span);
/* The smallest span that holds all written since the file's last sync; nothing waits afterwards. */
struct faulty_span faulty_state_synced(struct faulty_state *state, uint64_t inode);

#endif
