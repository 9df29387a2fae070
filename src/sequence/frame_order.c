/* SPDX-License-Identifier: ISC */
#include "sequence/frame_order.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"

/* So many frames in a row are deleted in the camera at most. */
enum { COUNTER_END = 9999, DELETED_MAX = 100 };
/* Past so many runs the numbers tell nothing, and time alone gives the order. */
enum { RUNS_MAX = 64 };

bool hr__counter_continues(unsigned before, unsigned next)
{
    unsigned step = next > before ? next - before : next + COUNTER_END - before;
    return step > 0 && step <= DELETED_MAX;
}

struct row {
    int64_t local_ns;
    const char *job;
    uint32_t card, frame;
    uint32_t shooting; /* from 0, of its card */
    uint16_t folder_number, counter;
    bool is_again;        /* another frame of the card has its numbers, taken before it */
    int64_t the_other_ns; /* when that was */
};

static int compare_cards(const struct row *a, const struct row *b)
{
    int order = a->job == b->job ? 0 : strcmp(a->job, b->job);
    return order ? order : (a->card > b->card) - (a->card < b->card);
}

static int compare_time(const struct row *a, const struct row *b)
{
    if (a->local_ns != b->local_ns)
        return a->local_ns < b->local_ns ? -1 : 1;
    if (a->counter != b->counter)
        return a->counter < b->counter ? -1 : 1;
    return (a->frame > b->frame) - (a->frame < b->frame);
}

static int compare_by_time(const void *left, const void *right)
{
    const struct row *a = left, *b = right;
    int order = a->job == b->job ? 0 : strcmp(a->job, b->job);
    return order ? order : compare_time(a, b);
}

static int compare_by_card_and_time(const void *left, const void *right)
{
    int order = compare_cards(left, right);
    return order ? order : compare_time(left, right);
}

static int compare_by_number(const void *left, const void *right)
{
    const struct row *a = left, *b = right;
    int order = compare_cards(a, b);
    if (order)
        return order;
    if (a->shooting != b->shooting)
        return a->shooting < b->shooting ? -1 : 1;
    if (a->folder_number != b->folder_number)
        return a->folder_number < b->folder_number ? -1 : 1;
    if (a->counter != b->counter)
        return a->counter < b->counter ? -1 : 1;
    return compare_time(a, b);
}

/* ---- Shootings ---- */

static void find_numbers_that_come_again(struct row *rows, size_t count)
{
    qsort(rows, count, sizeof *rows, compare_by_number);
    for (size_t i = 1; i < count; i++) {
        const struct row *before = &rows[i - 1];
        rows[i].is_again = compare_cards(before, &rows[i]) == 0 && before->folder_number == rows[i].folder_number &&
                           before->counter == rows[i].counter && rows[i].counter && before->local_ns < rows[i].local_ns;
        rows[i].the_other_ns = before->local_ns;
    }
}

/* A card that was erased may be counted from 0001 again. A number that comes again tells it, and the new shooting began
 * where the count last broke off before that. */
static void part_shootings(struct row *rows, size_t count)
{
    size_t first = 0, broke_at = 0; /* of the shooting at hand; of the count in it */
    find_numbers_that_come_again(rows, count);
    qsort(rows, count, sizeof *rows, compare_by_card_and_time);
    for (size_t i = 1; i < count; i++) {
        if (compare_cards(&rows[i - 1], &rows[i]) != 0) {
            first = broke_at = i;
            continue;
        }
        rows[i].shooting = rows[i - 1].shooting;
        if (!hr__counter_continues(rows[i - 1].counter, rows[i].counter))
            broke_at = i;
        if (!rows[i].is_again || rows[i].the_other_ns < rows[first].local_ns)
            continue;
        first = broke_at > first ? broke_at : i;
        for (size_t k = first; k <= i; k++)
            rows[k].shooting++;
    }
}

/* ---- Runs ---- */

/* Where the count breaks off time decides. It goes on in the next folder too, after 9999 or after fewer. */
static bool is_one_run(const struct row *before, const struct row *next)
{
    if (compare_cards(before, next) != 0 || before->shooting != next->shooting)
        return false;
    if (hr__counter_continues(before->counter, next->counter) && before->counter && next->counter)
        return true;
    return before->folder_number == next->folder_number && before->local_ns <= next->local_ns;
}

struct run {
    size_t next, end;
};

/* False when there are too many. */
static bool find_runs(struct run runs[RUNS_MAX], size_t *run_count, const struct row *rows, size_t count)
{
    *run_count = 0;
    for (size_t i = 0; i < count; i++) {
        if (i > 0 && is_one_run(&rows[i - 1], &rows[i])) {
            runs[*run_count - 1].end = i + 1;
            continue;
        }
        if (*run_count == RUNS_MAX)
            return false;
        runs[(*run_count)++] = (struct run){i, i + 1};
    }
    return true;
}

/* By the time, and at one moment by the count, where one leads to the other: 9999 comes before 0001. */
static bool comes_before(const struct row *a, const struct row *b)
{
    if (a->local_ns == b->local_ns && compare_cards(a, b) == 0 &&
        hr__counter_continues(a->counter, b->counter) != hr__counter_continues(b->counter, a->counter))
        return hr__counter_continues(a->counter, b->counter);
    return compare_by_time(a, b) < 0;
}

/* Of all runs the frame taken first comes first; a run keeps its own order. */
static void merge(uint32_t *order, struct run *runs, size_t run_count, const struct row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct run *first = NULL;
        for (size_t r = 0; r < run_count; r++)
            if (runs[r].next < runs[r].end && (!first || comes_before(&rows[runs[r].next], &rows[first->next])))
                first = &runs[r];
        assert(first); /* the runs hold `count` frames in all */
        order[i] = rows[first->next++].frame;
    }
}

enum hr_status hr__frames_order(uint32_t *order, size_t count, const struct hr_frame *frames, struct hr_fault *fault)
{
    struct run runs[RUNS_MAX];
    size_t run_count;
    struct row *rows = calloc(count + 1, sizeof *rows);
    if (!rows)
        return hr__fault_nomem(fault, "the order of frames");
    for (size_t i = 0; i < count; i++) {
        const struct hr_frame *frame = &frames[order[i]];
        rows[i] = (struct row){.local_ns = frame->local_ns,
                               .job = frame->job,
                               .card = frame->card,
                               .frame = order[i],
                               .folder_number = frame->folder_number,
                               .counter = frame->counter};
    }
    part_shootings(rows, count);
    qsort(rows, count, sizeof *rows, compare_by_number);
    if (find_runs(runs, &run_count, rows, count)) {
        merge(order, runs, run_count, rows, count);
    } else {
        qsort(rows, count, sizeof *rows, compare_by_time);
        for (size_t i = 0; i < count; i++)
            order[i] = rows[i].frame;
    }
    free(rows);
    return HR_OK;
}
