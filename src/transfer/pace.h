/* SPDX-License-Identifier: ISC */
/* When may a place read back while it is also being written?
 *
 * There are three kinds of drive. One reads and writes independently: not reading meanwhile wastes half of it. One has a
 * single budget (most real ones): reading takes from writing, and is worth it only while the writer keeps up with the
 * card. One has heads that must travel between where it reads and where it writes: both together are slower than one
 * after the other. Which kind it is, is probed while a place cannot keep up: its writer is left alone for a moment, then
 * a read-back goes on beside it, and the rates are compared. Only writes with more waiting behind them count, for a
 * writer that waits for the card finds a rested drive. Probed again from time to time, for drives change their mind
 * when a cache fills. Pure arithmetic on what it is told; the caller holds the lock. */
#ifndef HR_TRANSFER_PACE_H
#define HR_TRANSFER_PACE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum hr_pace_mode {
    HR_PACE_EAGER, /* read back as soon as something is durable */
    HR_PACE_YIELD, /* read back only while the writer keeps up */
    HR_PACE_AFTER  /* read back only once the writer is done, or has long had nothing to do */
};

struct hr_pace_rate {
    double bytes, seconds;
};

struct hr_pace {
    enum hr_pace_mode mode;
    const char *fixed_because;         /* set once; not NULL: never judged */
    struct hr_pace_rate alone, shared; /* of writes, since the probe began */
    double read_bytes;                 /* read back beside `shared` */
    int64_t first_write_ns;            /* 0: none yet */
    int64_t last_write_ns;
    bool was_backed_up; /* more waited behind the last write */
    bool is_judged;
    bool is_doubted; /* the last probe spoke for `instead`; one more decides */
    enum hr_pace_mode instead;
    double alone_rate, kept, together; /* at the last judgement: bytes a second; shares of it, writing and both */
    int64_t judged_at_ns, probe_again_ns;
};

/* What the place is doing at the moment. */
struct hr_pace_now {
    int64_t at_ns;
    bool is_writing;
    uint64_t backlog_bytes; /* waiting for the writer */
};

/* Memory and the like are read eagerly, disks with heads after writing; everything else starts eagerly and is judged.
 */
void hr__pace_init(struct hr_pace *pace, bool is_in_memory, bool is_rotational);
struct hr_pace_write {
    size_t bytes;
    int64_t took_ns;
    bool is_shared;    /* a read-back was going on */
    bool is_backed_up; /* more waited behind it */
    bool is_disturbed; /* a sync was going on: it says nothing of the drive's speed */
};
void hr__pace_saw_write(struct hr_pace *pace, const struct hr_pace_write *write, int64_t now_ns);
void hr__pace_saw_read(struct hr_pace *pace, size_t bytes, int64_t now_ns);
bool hr__pace_may_read_back(const struct hr_pace *pace, const struct hr_pace_now *now);
/* One line for the log: what was chosen and why. */
void hr__pace_describe(char *out, size_t out_size, const struct hr_pace *pace);

#endif
