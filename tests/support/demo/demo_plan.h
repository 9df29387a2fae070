/* SPDX-License-Identifier: ISC */
/* Who presses when: from the options to every frame of the card with its name, in the order they are taken. */
#ifndef DEMO_PLAN_H
#define DEMO_PLAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "demo_options.h"

enum { DEMO_NO_RATING = -128 };

/* What stands before the lens. */
struct demo_moment {
    uint64_t seed;              /* of the play, or of the portrait */
    double elapsed_s, length_s; /* into the play as this body shot it, and how long that was */
    double burst_elapsed_s;     /* since the finger went down: focus settles in */
    bool is_portrait;           /* a single: one player, camera on its side */
};

struct demo_frame {
    char body; /* 'A' or 'B' */
    bool is_clip;
    int64_t time_ns, stamp_ns; /* true moment in UTC, and what the camera wrote in local time */
    unsigned half;             /* 1 until half-time, 2 after it */
    uint32_t sequence, burst;  /* from 1; a clip has neither */
    double cadence_per_s;
    bool is_stalled;
    unsigned deleted_before;  /* numbers used up by frames deleted in the camera */
    unsigned folder, counter; /* DCF: 100..999 and 1..9999 */
    int rating;               /* -1..5 or DEMO_NO_RATING */
    bool is_protected, has_memo, has_raw;
    struct demo_moment moment;
};

struct demo_plan {
    struct demo_frame *frames;
    size_t count;
};

/* The caller releases with demo_plan_finish. The plan of one body is the same whether its card holds the other one or
 * not. */
void demo_plan_init(struct demo_plan *plan, const struct demo_options *options);
void demo_plan_finish(struct demo_plan *plan);
/* "NM-A-0417": invented. */
const char *demo_plan_serial(char body);

#endif
