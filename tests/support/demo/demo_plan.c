/* SPDX-License-Identifier: ISC */
#include "demo_plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "demo_fail.h"
#include "demo_shooter.h"

const char *demo_plan_serial(char body)
{
    return body == 'A' ? "NM-A-0417" : "NM-B-0932";
}

static unsigned count_plays(const struct demo_options *options, size_t frames)
{
    double cadence_per_s = options->cadence_per_s > 0 ? options->cadence_per_s : 22;
    return (unsigned)ceil((double)frames / fmax(8, 2.6 * cadence_per_s));
}

/* This play's share of the frames still wanted; the last play takes all that is left. */
static size_t share(struct demo_shooter *shooter, size_t wanted, unsigned plays_left)
{
    size_t left = wanted - shooter->count;
    size_t some = (size_t)((double)left / plays_left * demo_random_range(&shooter->random, 0.55, 1.45));
    return plays_left == 1 ? left : some > left ? left : some;
}

static void cover_match(struct demo_shooter *shooter, size_t wanted)
{
    bool wants_clip = !shooter->options->plain;
    unsigned plays = count_plays(shooter->options, wanted);
    unsigned first_held = plays / 3 + (shooter->body == 'B' && plays > 1);
    shooter->now_s = demo_match_play(shooter->options->seed, 0, plays).start_s - 30;
    for (unsigned i = 0; i < plays && shooter->count < wanted; i++) {
        struct demo_play play = demo_match_play(shooter->options->seed, i, plays);
        if (wants_clip && play.start_s > demo_match_half_time()) {
            demo_shooter_take_clip(shooter, demo_match_half_time() - shooter->body);
            wants_clip = false;
            wanted++;
        }
        size_t held = demo_shooter_held_frames(shooter), frames = share(shooter, wanted, plays - i);
        bool is_held = held && i % 8 == first_held % 8 && shooter->count + held + 8 * (size_t)(plays - i - 1) <= wanted;
        if (is_held)
            frames = plays - i == 1 ? frames : held;
        if (frames)
            demo_shooter_cover(shooter, &play, frames, is_held);
    }
    if (wants_clip)
        demo_shooter_take_clip(shooter, shooter->now_s + 60);
}

static void plan_body(struct demo_plan *plan, const struct demo_options *options, char body, size_t wanted)
{
    struct demo_shooter shooter = {.options = options,
                                   .midnight_s = demo_match_midnight(options->date),
                                   .body = body,
                                   .random = demo_random_of(options->seed, "shooter", (uint64_t)body),
                                   .frames = plan->frames + plan->count};
    if (wanted)
        cover_match(&shooter, wanted);
    plan->count += shooter.count;
}

/* Extras come from a stream of their own, so that --plain leaves the frames as they are. */
static void mark_extras(struct demo_frame *frame, const struct demo_options *options, size_t index, size_t count)
{
    struct demo_random random = demo_random_of(options->seed, "extras", index * 256 + (uint64_t)frame->body);
    double rated = demo_random_unit(&random), is_protected = demo_random_unit(&random),
           memo = demo_random_unit(&random);
    if (rated < 0.10)
        frame->rating = rated < 0.01 ? -1 : rated < 0.02 ? 0 : 1 + (int)demo_random_index(&random, 5);
    frame->has_raw = options->raw_every && index % options->raw_every == 0;
    frame->is_protected = !options->plain && (is_protected < 0.02 || index == count / 3);
    frame->has_memo = !options->plain && (memo < 0.01 || index == count / 2);
}

static void mark_body(struct demo_plan *plan, const struct demo_options *options, char body, size_t wanted)
{
    size_t index = 0;
    for (size_t i = 0; i < plan->count; i++)
        if (plan->frames[i].body == body && !plan->frames[i].is_clip)
            mark_extras(&plan->frames[i], options, index++, wanted);
}

static int compare_time(const void *a, const void *b)
{
    const struct demo_frame *x = a, *y = b;
    if (x->time_ns != y->time_ns)
        return x->time_ns < y->time_ns ? -1 : 1;
    return x->body - y->body;
}

static unsigned first_counter(const struct demo_options *options, char body, size_t wanted)
{
    struct demo_random random = demo_random_of(options->seed, "counter", (uint64_t)body);
    if (options->counter)
        return (unsigned)options->counter;
    return body == 'A' ? 9999 - (unsigned)(wanted < 10000 ? wanted * 2 / 5 : 4000)
                       : 1 + demo_random_index(&random, 4000);
}

/* Folder numbers are used once on a card, in the order they are needed; 9999 is followed by 0001 in a new folder (DCF,
 * CIPA DC-009). */
static void number_files(struct demo_plan *plan, const unsigned first[2])
{
    unsigned next[2] = {first[0], first[1]}, folder[2] = {0, 0}, next_folder = 100;
    for (size_t i = 0; i < plan->count; i++) {
        struct demo_frame *frame = &plan->frames[i];
        unsigned body = frame->body == 'B';
        next[body] += frame->deleted_before;
        if (next[body] > 9999 || !folder[body]) {
            next[body] -= next[body] > 9999 ? 9999 : 0;
            folder[body] = next_folder++;
        }
        frame->folder = folder[body];
        frame->counter = next[body]++;
    }
    if (next_folder > 1000)
        demo_fail("more frames than a card has folder numbers for");
}

static void keep_half(struct demo_plan *plan, unsigned half)
{
    size_t kept = 0;
    for (size_t i = 0; i < plan->count; i++)
        if (!half || plan->frames[i].half == half)
            plan->frames[kept++] = plan->frames[i];
    plan->count = kept;
}

void demo_plan_init(struct demo_plan *plan, const struct demo_options *options)
{
    bool both = !strcmp(options->bodies, "AB");
    size_t of_b = both ? options->frames / 2 : *options->bodies == 'B' ? options->frames : 0;
    size_t wanted[2] = {options->frames - of_b, of_b};
    unsigned first[2];
    *plan = (struct demo_plan){.frames = demo_allocate(options->frames + 2, sizeof *plan->frames)};
    for (int i = 0; i < 2; i++) {
        plan_body(plan, options, (char)('A' + i), wanted[i]);
        mark_body(plan, options, (char)('A' + i), wanted[i]);
        first[i] = first_counter(options, (char)('A' + i), wanted[i]);
    }
    qsort(plan->frames, plan->count, sizeof *plan->frames, compare_time);
    number_files(plan, first);
    keep_half(plan, (unsigned)options->half);
}

void demo_plan_finish(struct demo_plan *plan)
{
    free(plan->frames);
    *plan = (struct demo_plan){0};
}
