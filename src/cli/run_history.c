/* SPDX-License-Identifier: ISC */
#include "cli/run_history.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/units.h"
#include "cli/progress_pen.h"

/* A week of seconds. */
enum { POINTS_MAX = 7 * 24 * 3600, PLACE_COLUMNS = 48 };

static const int64_t telling_ns = 3 * HR_NS_PER_S;

static const char *const stage_names[HISTORY_STAGE_COUNT] = {
    [HISTORY_CARD] = "card",
    [HISTORY_DIGEST] = "digest",
    [HISTORY_WRITE] = "write",
    [HISTORY_READ_BACK] = "read back",
};

const char *history_stage_name(enum history_stage stage)
{
    return stage_names[stage];
}

const char *history_lane_place(const struct run_history *history, const struct history_lane *lane)
{
    bool has_place = lane->stage == HISTORY_WRITE || lane->stage == HISTORY_READ_BACK;
    return has_place ? history->places[lane->place] : "";
}

void history_init(struct run_history *history)
{
    *history = (struct run_history){0};
}

static void free_text(const char *text)
{
    free((char *)(uintptr_t)text);
}

void history_finish(struct run_history *history)
{
    free_text(history->run.job);
    free_text(history->run.host);
    free_text(history->run.cards);
    free_text(history->run.places);
    free_text(history->run.outcome);
    free_text(history->run.policies);
    for (size_t i = 0; i < history->place_count; i++)
        free(history->places[i]);
    for (size_t i = 0; i < history->lane_count; i++)
        free(history->lanes[i].points);
    history_init(history);
}

static char *copy_text(struct run_history *history, const char *text, size_t size)
{
    char *copy = strndup(text ? text : "", size);
    history->is_short_of_memory |= !copy;
    return copy;
}

static void add_lane(struct run_history *history, enum history_stage stage, size_t place)
{
    history->lanes[history->lane_count++] = (struct history_lane){.stage = stage, .place = place};
}

static void split_places(struct run_history *history)
{
    const char *line = history->run.places ? history->run.places : "";
    while (*line && history->place_count < HR_PLACES_MAX) {
        size_t size = strcspn(line, "\n");
        history->places[history->place_count] = copy_text(history, line, size);
        add_lane(history, HISTORY_WRITE, history->place_count);
        add_lane(history, HISTORY_READ_BACK, history->place_count);
        history->place_count++;
        line += size + (line[size] == '\n');
    }
}

void history_take_run(struct run_history *history, const struct hr_ledger_run *run)
{
    history->run = *run;
    history->run.job = copy_text(history, run->job, SIZE_MAX);
    history->run.host = copy_text(history, run->host, SIZE_MAX);
    history->run.cards = copy_text(history, run->cards, SIZE_MAX);
    history->run.places = copy_text(history, run->places, SIZE_MAX);
    history->run.outcome = copy_text(history, run->outcome, SIZE_MAX);
    history->run.policies = copy_text(history, run->policies, SIZE_MAX);
    add_lane(history, HISTORY_CARD, 0);
    add_lane(history, HISTORY_DIGEST, 0);
    split_places(history);
}

/* NULL for a stage or place that is not of this run. */
static struct history_lane *lane_of(struct run_history *history, const struct hr_ledger_sample *sample)
{
    for (size_t i = 0; i < history->lane_count; i++) {
        struct history_lane *lane = &history->lanes[i];
        bool has_place = lane->stage == HISTORY_WRITE || lane->stage == HISTORY_READ_BACK;
        if (strcmp(stage_names[lane->stage], sample->stage) == 0 && (!has_place || lane->place == sample->lane))
            return lane;
    }
    return NULL;
}

/* A sample covers the time since the last one; after a pause, one second. */
static struct history_point point_of(const struct history_lane *lane, const struct hr_ledger_sample *sample)
{
    int64_t before_ns = lane->point_count ? lane->points[lane->point_count - 1].to_ns : 0;
    int64_t gap_ns = sample->at_ns - before_ns;
    bool follows = gap_ns > 0 && gap_ns < HR_NS_PER_S * 3 / 2;
    return (struct history_point){
        .from_ns = follows ? before_ns : sample->at_ns - HR_NS_PER_S, .to_ns = sample->at_ns, .bytes = sample->bytes};
}

/* The rest of a second at the end of a card says little about a rate: it goes with the second before. */
static bool merge_short(struct history_lane *lane)
{
    const struct history_point *point = &lane->points[lane->point_count];
    bool is_short = lane->point_count > 0 && point->to_ns - point->from_ns < HR_NS_PER_S / 2;
    if (is_short) {
        struct history_point *before = &lane->points[lane->point_count - 1];
        before->to_ns = point->to_ns;
        before->bytes += point->bytes;
    }
    return is_short;
}

/* Cards that are read side by side tell of the same moment: together they are what the run got. */
static bool add_to_last(struct history_lane *lane, const struct hr_ledger_sample *sample)
{
    struct history_point *last = lane->point_count ? &lane->points[lane->point_count - 1] : NULL;
    bool is_same_moment = last && last->to_ns == sample->at_ns;
    if (is_same_moment)
        last->bytes += sample->bytes;
    return is_same_moment;
}

void history_take_sample(struct run_history *history, const struct hr_ledger_sample *sample)
{
    struct history_lane *lane = lane_of(history, sample);
    if (!lane || add_to_last(lane, sample))
        return;
    if (!hr__array_reserve(&lane->points, &lane->point_capacity, lane->point_count + 1, sizeof *lane->points,
                           POINTS_MAX)) {
        history->is_short_of_memory = true;
        return;
    }
    lane->points[lane->point_count] = point_of(lane, sample);
    lane->point_count += !merge_short(lane);
    lane->queue_sum += sample->queue_fill_percent;
    history->end_ns = sample->at_ns > history->end_ns ? sample->at_ns : history->end_ns;
}

double history_rate(const struct history_point *point)
{
    return (double)point->bytes * (double)HR_NS_PER_S / (double)(point->to_ns - point->from_ns);
}

static void sum_up(struct history_lane *lane)
{
    for (size_t i = 0; i < lane->point_count; i++) {
        const struct history_point *point = &lane->points[i];
        lane->bytes += point->bytes;
        lane->busy_ns += point->bytes ? point->to_ns - point->from_ns : 0;
        if (history_rate(point) > lane->peak_bytes_per_s)
            lane->peak_bytes_per_s = history_rate(point);
    }
    if (lane->busy_ns > 0)
        lane->mean_bytes_per_s = (double)lane->bytes * (double)HR_NS_PER_S / (double)lane->busy_ns;
    if (lane->point_count)
        lane->queue_percent = (unsigned)(lane->queue_sum / lane->point_count);
}

/* Neighbours in a pipeline wait for each other and so are busy alike: those within a tenth count as even. */
static bool is_even(double a, double b)
{
    return a <= b * 1.1 && b <= a * 1.1;
}

/* Did `a` rather than `b` hold the run up? The one that was busy longer; of two busy alike the slower; of two as slow,
 * which is a writer at the card's pace, the writer if blocks queued up before it. */
static bool is_slower(const struct history_lane *a, const struct history_lane *b)
{
    const unsigned queues_up_percent = 25;
    if (!is_even((double)a->busy_ns, (double)b->busy_ns))
        return a->busy_ns > b->busy_ns;
    if (!is_even(a->mean_bytes_per_s, b->mean_bytes_per_s))
        return a->mean_bytes_per_s < b->mean_bytes_per_s;
    return b->stage == HISTORY_CARD && a->stage == HISTORY_WRITE && a->queue_percent >= queues_up_percent;
}

void history_close(struct run_history *history)
{
    for (size_t i = 0; i < history->lane_count; i++) {
        struct history_lane *lane = &history->lanes[i];
        sum_up(lane);
        history->has_moved |= lane->bytes > 0;
        /* Stages can be told apart only over some seconds. */
        if (lane->bytes && history->end_ns >= telling_ns && (!history->slowest || is_slower(lane, history->slowest)))
            history->slowest = lane;
    }
    if (history->run.elapsed_ns > history->end_ns)
        history->end_ns = history->run.elapsed_ns;
}

void history_describe_slowest(struct hr_text *out, const struct run_history *history)
{
    static const char *const phrases[HISTORY_STAGE_COUNT] = {
        [HISTORY_CARD] = "reading the card",
        [HISTORY_DIGEST] = "making the digests",
        [HISTORY_WRITE] = "writing to ",
        [HISTORY_READ_BACK] = "read-back of ",
    };
    char place[PEN_NAME_SIZE], rate[HR_UNIT_TEXT_SIZE];
    if (!history->slowest)
        return;
    pen_format_name(place, history_lane_place(history, history->slowest), PLACE_COLUMNS);
    hr__text_printf(out, "%s%s (%s)", phrases[history->slowest->stage], place,
                    hr__format_rate(rate, history->slowest->mean_bytes_per_s));
}
