/* SPDX-License-Identifier: ISC */
/* When may a place read back while it is also being written?
 *
 * There are three kinds of drive. One reads and writes independently: not reading meanwhile wastes half of it. One has
 * a single budget (most real ones): reading takes from writing, and is worth it only while the writer keeps up with the
 * card. One has heads that must travel between where it reads and where it writes: both together are slower than one
 * after the other. Which kind it is, is probed while a place cannot keep up: its writer is left alone for a spell, then
 * a read-back goes on beside it for a spell, and what the drive moved is compared. A spell lasts from the end of one
 * sync to the end of another, so that each pays for what it wrote; the time of single writes tells nothing, for
 * throttles and drives take them in bursts. Probed again from time to time, for drives change their mind when a cache
 * fills. Pure arithmetic on what it is told; the caller holds the lock. */
#ifndef HR_TRANSFER_PACE_H
#define HR_TRANSFER_PACE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* In the order of how much reading costs writing. */
enum hr_pace_mode {
    HR_PACE_EAGER, /* read back as soon as something is durable */
    HR_PACE_YIELD, /* read back only while the writer keeps up */
    HR_PACE_AFTER  /* read back only once the writer is done, or has long had nothing to do */
};

enum hr_pace_probe { HR_PROBE_NONE, HR_PROBE_ALONE, HR_PROBE_SHARED };

/* What was done in a time. */
struct hr_pace_spell {
    double written_bytes, read_bytes;
    double seconds, idle_seconds; /* the latter: the writer had nothing to do */
};

/* What a place does beside reading back, in shares of what it writes alone. */
struct hr_pace_shares {
    double kept, together; /* writing; writing and reading */
};

struct hr_pace {
    enum hr_pace_mode mode;
    const char *fixed_because; /* set once; not NULL: never judged */
    enum hr_pace_probe probe;
    struct hr_pace_spell spell; /* of the probe under way, so far */
    double probed_rate;         /* writing alone in this probe, bytes a second */
    int64_t first_spell_ns;     /* 0: none yet */
    int64_t last_write_ns;      /* 0: none yet */
    bool is_judged, is_doubted; /* the latter: the last probe found `instead`; one more decides */
    enum hr_pace_mode instead;
    double alone_rate; /* at the last judgement, as `shares` */
    struct hr_pace_shares shares;
    int64_t probe_again_ns; /* when */
    int64_t probe_after_ns; /* how long after a probe the next one comes */
};

/* How much waits for a sync. */
struct hr_pace_batch {
    uint64_t least_bytes, most_bytes; /* towards the beginning and the end of a run; between them */
    size_t files;                     /* or so many, or so many new names */
    int64_t age_ns;                   /* or since so long */
};

/* What the place is doing at the moment. */
struct hr_pace_now {
    int64_t at_ns;
    bool is_writing;
    uint64_t backlog_bytes; /* waiting for the writer */
};

/* Memory and the like are read eagerly, disks that say they have heads after writing; everything else is judged, and
 * until then read while writing keeps up, which costs each kind little. */
void hr__pace_init(struct hr_pace *pace, bool is_in_memory, bool has_heads);
void hr__pace_saw_write(struct hr_pace *pace, int64_t now_ns);
/* A sync ended at `now_ns`; `spell` is since the one before. */
void hr__pace_saw_spell(struct hr_pace *pace, const struct hr_pace_spell *spell, int64_t now_ns);
struct hr_pace_batch hr__pace_batch(const struct hr_pace *pace);
bool hr__pace_may_read_back(const struct hr_pace *pace, const struct hr_pace_now *now);
/* Was reading found to cost writing little? */
bool hr__pace_reads_beside(const struct hr_pace *pace);
/* One line for the log: what was chosen and why. */
void hr__pace_describe(char *out, size_t out_size, const struct hr_pace *pace);

#endif
