/* SPDX-License-Identifier: ISC */
#include "sequence/bursts.h"

#include <math.h>

#include "base/median.h"

enum { INTERVALS_PER_GAP = 3, STEPS_PER_GAP = 2, NEAR_GAPS = 9, GAPS_TO_KNOW = 3, REGULAR_GAPS = 3 };
static const double least_gap_s = 0.4;
/* A card that takes fewer than a frame a second has not kept up with any camera: such gaps are a finger's. */
static const double slowest_drain_s = 1.0;
/* Regular: within this share of each other. */
static const double regular_share = 0.35;
/* The commonest interval is looked for in windows of this share of the median. */
static const double window_share = 0.1;
/* An interval differs by less from the others; one with a frame missing is twice as long. */
static const double near_share = 0.6;

static double gap_before(const struct hr_time_line *line, size_t i)
{
    return line->at_s[i] - line->at_s[i - 1];
}

/* The median of up to NEAR_GAPS gaps before frame `i` in its burst; where there are none, of those from there on. */
static double near_interval(const struct hr_time_line *line, size_t first, size_t i)
{
    double gaps[NEAR_GAPS];
    size_t count = 0;
    for (size_t at = i - 1; at > first && count < NEAR_GAPS; at--)
        gaps[count++] = gap_before(line, at);
    if (count == 0) {
        for (size_t at = i; at < line->count && !line->is_cut[at] && count < NEAR_GAPS; at++)
            gaps[count++] = gap_before(line, at);
        if (count < GAPS_TO_KNOW)
            return 0;
    }
    hr__sort_values(gaps, count);
    return gaps[(count - 1) / 2];
}

static bool goes_on_regularly(const struct hr_time_line *line, size_t i)
{
    double gap_s = gap_before(line, i), slack_s = regular_share * gap_s + line->resolution_s;
    if (gap_s > slowest_drain_s || i + REGULAR_GAPS >= line->count)
        return false;
    for (size_t at = i + 1; at <= i + REGULAR_GAPS; at++)
        if (line->is_cut[at] || fabs(gap_before(line, at) - gap_s) > slack_s)
            return false;
    return true;
}

bool hr__burst_ends(const struct hr_time_line *line, size_t first, size_t i)
{
    if (line->is_cut[i])
        return true;
    double least_s = fmax(STEPS_PER_GAP * line->resolution_s, least_gap_s), gap_s = gap_before(line, i);
    /* Stamps are written in decimals and read as binary fractions. */
    double hair_s = line->resolution_s / 1000;
    if (gap_s <= least_s + hair_s)
        return false;
    return gap_s > INTERVALS_PER_GAP * near_interval(line, first, i) + hair_s && !goes_on_regularly(line, i);
}

/* The window that holds most intervals; then the mean of all that are nearer to its middle than a frame that is missing
 * could make them, so that jitter on both sides evens out. */
static double commonest_interval(double *gaps, size_t count, double resolution_s)
{
    hr__sort_values(gaps, count);
    double width_s = fmax(2.5 * resolution_s, window_share * gaps[count / 2]), middle_s = gaps[count / 2], sum_s = 0;
    size_t most = 0, near = 0;
    for (size_t from = 0, to = 0; to < count; to++) {
        while (gaps[to] - gaps[from] > width_s)
            from++;
        if (to - from + 1 > most) {
            most = to - from + 1;
            middle_s = (gaps[from] + gaps[to]) / 2;
        }
    }
    for (size_t i = 0; i < count; i++)
        if (fabs(gaps[i] - middle_s) < near_share * middle_s) {
            sum_s += gaps[i];
            near++;
        }
    return near ? sum_s / (double)near : 0;
}

/* Frames between the first and the last step of the clock, over the time between these: the ends are cut off where it
 * stepped, not where the burst began. */
static double frames_over_steps(const double *at_s, size_t count, double resolution_s)
{
    size_t first = 1, last = count - 1;
    while (first < count && at_s[first] - at_s[0] < resolution_s / 2)
        first++;
    while (last > first && at_s[count - 1] - at_s[last - 1] < resolution_s / 2)
        last--;
    double span_s = first < count ? at_s[last] - at_s[first] : 0;
    return span_s >= 2 * resolution_s ? (double)(last - first) / span_s : 0;
}

double hr__cadence(const double *at_s, size_t count, double resolution_s, double *scratch)
{
    double span_s = at_s[count - 1] - at_s[0], mean_per_s = span_s > 0 ? (double)(count - 1) / span_s : 0;
    if (mean_per_s <= 0 || count < 3)
        return 0;
    if (resolution_s > 1 / (4 * mean_per_s))
        return frames_over_steps(at_s, count, resolution_s);
    for (size_t i = 1; i < count; i++)
        scratch[i - 1] = at_s[i] - at_s[i - 1];
    double interval_s = commonest_interval(scratch, count - 1, resolution_s);
    return interval_s > 0 ? 1 / interval_s : 0;
}
