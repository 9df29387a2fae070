/* SPDX-License-Identifier: ISC */
/* When may a place read back while it is being written?
 *
 * On a drive with one shared budget (a disk with heads, most USB sticks) reading takes from writing and only makes the
 * card wait; on one that reads and writes independently, not reading meanwhile wastes half of it. So it is probed: for
 * a while the writer is left alone, for a while a read-back goes on beside it, and the rates of writing are compared.
 * Only writes with more waiting behind them count, for a writer that waits for the card finds rested drives and
 * throttles. Probed again from time to time, for drives change their mind when a cache fills. Pure arithmetic on what
 * it is told; the caller holds the lock. */
#ifndef HR_TRANSFER_PACE_H
#define HR_TRANSFER_PACE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum hr_pace_mode {
    HR_PACE_EAGER, /* read back as soon as something is durable */
    HR_PACE_YIELD  /* read back only while the writer has nothing to do */
};

struct hr_pace_rate {
    double bytes, seconds;
};

struct hr_pace {
    enum hr_pace_mode mode;
    const char *fixed_because;         /* set once; not NULL: never judged */
    struct hr_pace_rate alone, shared; /* of direct writes, since the probe began */
    int64_t first_write_ns;            /* 0: none yet */
    bool was_backed_up;                /* more waited behind the last write */
    bool is_judged;
    double last_ratio; /* shared rate / alone rate at the last judgement */
    int64_t judged_at_ns;
};

/* Memory and the like are read eagerly, disks with heads yield; everything else starts eagerly and is judged. */
void hr__pace_init(struct hr_pace *pace, bool is_in_memory, bool is_rotational);
/* A direct write: `is_shared` when a read-back was going on, `is_backed_up` when more waited behind it. */
void hr__pace_saw_write(struct hr_pace *pace, size_t bytes, int64_t took_ns, bool is_shared, bool is_backed_up,
                        int64_t now_ns);
bool hr__pace_may_read_back(const struct hr_pace *pace, bool writer_is_busy, int64_t now_ns);
/* One line for the log: what was chosen and why. */
void hr__pace_describe(char *out, size_t out_size, const struct hr_pace *pace);

#endif
