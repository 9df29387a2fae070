/* SPDX-License-Identifier: ISC */
#include <math.h>
#include <stdlib.h>

#include <headrace/forecast.h>

#include "base/fault.h"
#include "base/median.h"

/* Samples looked at; the slopes between them are half the square of it. */
enum { POINTS_MAX = 300, SLOPES_MAX = POINTS_MAX * (POINTS_MAX - 1) / 2 };
/* Sizes whose quartiles are nearer than this share of their median do not tell a file's cost from a byte's. */
static const double alike_share = 0.5;
/* A guess, of a link's ceiling and for want of one. */
static const double likely_share = 0.6, likely_bytes_per_s = 100e6;

struct points {
    double bytes[POINTS_MAX], seconds[POINTS_MAX]; /* a file */
    size_t count;
    double scratch[SLOPES_MAX];
};

double hr_speed_seconds(const struct hr_speed *speed, double files, double bytes)
{
    bool has_slowed = speed->slow_bytes_per_s > 0 && bytes > speed->fast_bytes;
    double fast = has_slowed ? speed->fast_bytes : bytes;
    double seconds = files * speed->file_s;
    if (speed->bytes_per_s > 0)
        seconds += fast / speed->bytes_per_s;
    if (has_slowed)
        seconds += (bytes - fast) / speed->slow_bytes_per_s;
    return seconds;
}

struct hr_speed hr_speed_prior(double ceiling_bytes_per_s)
{
    return (struct hr_speed){.bytes_per_s =
                                 ceiling_bytes_per_s > 0 ? likely_share * ceiling_bytes_per_s : likely_bytes_per_s};
}

static bool is_telling(const struct hr_speed_sample *sample)
{
    return sample->bytes >= 0 && sample->seconds > 0 && isfinite(sample->bytes) && isfinite(sample->seconds);
}

/* Of many samples every so manieth. */
static void take_points(struct points *points, const struct hr_speed_sample *samples, size_t count)
{
    size_t taken = count < POINTS_MAX ? count : POINTS_MAX;
    for (size_t i = 0; i < taken; i++) {
        const struct hr_speed_sample *sample = &samples[i * count / taken];
        double files = sample->files > 1 ? sample->files : 1;
        if (!is_telling(sample))
            continue;
        points->bytes[points->count] = sample->bytes / files;
        points->seconds[points->count++] = sample->seconds / files;
    }
}

static bool are_sizes_alike(struct points *points)
{
    size_t count = points->count;
    for (size_t i = 0; i < count; i++)
        points->scratch[i] = points->bytes[i];
    double median = hr__median(points->scratch, count);
    return points->scratch[count * 3 / 4] - points->scratch[count / 4] < alike_share * median;
}

/* Theil and Sen: the median of the slopes between any two. 0 where all sizes are one. */
static double seconds_a_byte(struct points *points)
{
    size_t slopes = 0;
    for (size_t i = 0; i < points->count; i++)
        for (size_t j = 0; j < i; j++) {
            double bytes = points->bytes[i] - points->bytes[j];
            if (bytes != 0)
                points->scratch[slopes++] = (points->seconds[i] - points->seconds[j]) / bytes;
        }
    return hr__median(points->scratch, slopes);
}

static double median_remainder(struct points *points, double slope)
{
    for (size_t i = 0; i < points->count; i++)
        points->scratch[i] = points->seconds[i] - slope * points->bytes[i];
    return hr__median(points->scratch, points->count);
}

/* 0 where no sample has bytes. */
static double median_rate(struct points *points)
{
    size_t rates = 0;
    for (size_t i = 0; i < points->count; i++)
        if (points->bytes[i] > 0)
            points->scratch[rates++] = points->bytes[i] / points->seconds[i];
    return hr__median(points->scratch, rates);
}

static struct hr_speed fit(struct points *points)
{
    double slope = are_sizes_alike(points) ? 0 : seconds_a_byte(points);
    if (slope <= 0)
        return (struct hr_speed){.bytes_per_s = median_rate(points), .is_measured = true};
    return (struct hr_speed){
        .bytes_per_s = 1 / slope, .file_s = fmax(0, median_remainder(points, slope)), .is_measured = true};
}

enum hr_status hr_speed_fit(struct hr_speed *out, const struct hr_speed_sample *samples, size_t count,
                            struct hr_fault *fault)
{
    struct points *points = calloc(1, sizeof *points);
    if (!points)
        return hr__fault_nomem(fault, "samples of a speed");
    take_points(points, samples, count);
    struct hr_speed speed = fit(points);
    free(points);
    if (speed.bytes_per_s <= 0)
        return hr__fault_set(fault, HR_NOT_FOUND, 0, "no bytes were timed");
    *out = speed;
    return HR_OK;
}
