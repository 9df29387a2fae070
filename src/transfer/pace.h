/* SPDX-License-Identifier: ISC */
/* When may a place read back while it is being written?
 *
 * On a drive with one shared budget (a disk with heads, most USB sticks) reading takes from writing and only makes the
 * card wait; on one that reads and writes independently, not reading meanwhile wastes half of it. So it is measured:
 * the rate of write calls during which a read-back was going on, against the rate of those during which none was. Pure
 * arithmetic on what it is told; the caller holds the lock. */
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
    struct hr_pace_rate alone, shared; /* of direct writes */
    bool is_judged;
    double last_ratio; /* shared rate / alone rate at the last judgement */
    int64_t judged_at_ns;
};

/* Memory and the like are read eagerly, disks with heads yield; everything else starts eagerly and is judged. */
void hr__pace_init(struct hr_pace *pace, bool is_in_memory, bool is_rotational);
void hr__pace_saw_write(struct hr_pace *pace, size_t bytes, int64_t took_ns, bool while_reading_back, int64_t now_ns);
bool hr__pace_may_read_back(const struct hr_pace *pace, bool writer_is_busy, int64_t now_ns);
/* One line for the log: what was chosen and why. */
void hr__pace_describe(char *out, size_t out_size, const struct hr_pace *pace);

#endif
