/* SPDX-License-Identifier: ISC */
#include "demo_truth.h"

#include <inttypes.h>

#include "demo_fail.h"
#include "demo_world.h"

FILE *demo_truth_open(const char *path)
{
    FILE *truth = fopen(path, "w");
    if (!truth)
        demo_fail_errno("cannot make", path);
    fputs("files,kind,body,serial,time_ns,stamp_ns,counter,sequence,burst,stalled,cadence,rating,protected,focus\n",
          truth);
    return truth;
}

static void add_place(FILE *truth, const struct demo_frame *frame)
{
    if (frame->is_clip)
        fputs(",,", truth);
    else
        fprintf(truth, "%" PRIu32 ",%" PRIu32 ",", frame->sequence, frame->burst);
}

void demo_truth_add(FILE *truth, const struct demo_frame *frame, const char *files, bool is_protected)
{
    char rating[12] = "";
    if (frame->rating != DEMO_NO_RATING)
        snprintf(rating, sizeof rating, "%d", frame->rating);
    fprintf(truth, "%s,%s,%c,%s,%" PRId64 ",%" PRId64 ",%u,", files, frame->is_clip ? "clip" : "frame", frame->body,
            demo_plan_serial(frame->body), frame->time_ns, frame->stamp_ns, frame->counter);
    add_place(truth, frame);
    fprintf(truth, "%d,%g,%s,%d,%.3f\n", frame->is_stalled, frame->cadence_per_s, rating, is_protected,
            1 / (1 + demo_world_blur(&frame->moment, frame->body)));
}

void demo_truth_close(FILE *truth, const char *path)
{
    if (ferror(truth) || fclose(truth))
        demo_fail_errno("cannot write", path);
}
