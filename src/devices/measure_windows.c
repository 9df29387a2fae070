/* SPDX-License-Identifier: ISC */
#include "devices/measure_windows.h"

#include <stdlib.h>

#include "base/array.h"
#include "base/units.h"

enum { WINDOWS_MAX = 1 << 16 };

static const double warm_up_s = 0.5;
/* Ten tenths, added up, are a little less than one. */
static const double second = 1 - 1e-9;

void hr__windows_start(struct hr_windows *windows, int64_t now_ns)
{
    windows->since_ns = now_ns;
    windows->files = windows->bytes = 0;
}

static void close_window(struct hr_windows *windows, int64_t now_ns)
{
    struct hr_speed_sample window = {.files = windows->files,
                                     .bytes = windows->bytes,
                                     .seconds = (double)(now_ns - windows->since_ns) / (double)HR_NS_PER_S};
    windows->is_broken |=
        !hr__array_reserve(&windows->windows, &windows->capacity, windows->count + 1, sizeof window, WINDOWS_MAX);
    if (!windows->is_broken)
        windows->windows[windows->count++] = window;
    hr__windows_start(windows, now_ns);
}

bool hr__windows_moved(struct hr_windows *windows, double files, double bytes, bool may_close, int64_t now_ns)
{
    windows->files += files;
    windows->bytes += bytes;
    bool is_long_enough = may_close && now_ns - windows->since_ns >= windows->least_ns;
    if (is_long_enough)
        close_window(windows, now_ns);
    return is_long_enough;
}

void hr__windows_end(struct hr_windows *windows, int64_t now_ns)
{
    if (windows->count == 0 && windows->bytes > 0 && now_ns > windows->since_ns)
        close_window(windows, now_ns);
}

void hr__windows_finish(struct hr_windows *windows)
{
    free(windows->windows);
    *windows = (struct hr_windows){0};
}

static size_t first_of(const struct hr_windows *windows)
{
    double seconds = 0;
    size_t first = 0;
    while (first < windows->count / 2 && seconds < warm_up_s)
        seconds += windows->windows[first++].seconds;
    return first;
}

static int compare_rates(const void *a, const void *b)
{
    double left = *(const double *)a, right = *(const double *)b;
    return (left > right) - (left < right);
}

/* The value with `share` of the sorted ones below it, between two of them where it falls there. */
static double quantile(const double *sorted, size_t count, double share)
{
    double at = share * (double)(count - 1);
    size_t below = (size_t)at;
    double above = below + 1 < count ? sorted[below + 1] : sorted[below];
    return sorted[below] + (above - sorted[below]) * (at - (double)below);
}

static double spread_of(const struct hr_speed_sample *windows, size_t count)
{
    double *rates = malloc(count * sizeof *rates);
    if (!rates)
        return 0;
    for (size_t i = 0; i < count; i++)
        rates[i] = windows[i].bytes / windows[i].seconds;
    qsort(rates, count, sizeof *rates, compare_rates);
    double median = quantile(rates, count, 0.5);
    double spread = median > 0 ? (quantile(rates, count, 0.75) - quantile(rates, count, 0.25)) / median : 0;
    free(rates);
    return spread;
}

/* Of all runs of windows that last a second, the one that moved least. */
static double slowest_second(const struct hr_speed_sample *windows, size_t count)
{
    double seconds = 0, bytes = 0, slowest = 0;
    for (size_t first = 0, i = 0; i < count; i++) {
        seconds += windows[i].seconds;
        bytes += windows[i].bytes;
        while (seconds - windows[first].seconds >= second) {
            seconds -= windows[first].seconds;
            bytes -= windows[first++].bytes;
        }
        if (seconds >= second && (slowest == 0 || bytes / seconds < slowest))
            slowest = bytes / seconds;
    }
    return slowest;
}

static struct hr_speed_sample sum_of(const struct hr_windows *windows)
{
    struct hr_speed_sample sum = {0};
    for (size_t i = first_of(windows); i < windows->count; i++) {
        sum.files += windows->windows[i].files;
        sum.bytes += windows->windows[i].bytes;
        sum.seconds += windows->windows[i].seconds;
    }
    return sum;
}

void hr__windows_measure(struct hr_measured *out, const struct hr_windows *windows)
{
    size_t first = first_of(windows), count = windows->count - first;
    struct hr_speed_sample sum = sum_of(windows);
    *out = (struct hr_measured){.bytes = (uint64_t)sum.bytes, .seconds = sum.seconds};
    if (count == 0)
        return;
    out->speed = (struct hr_speed){.bytes_per_s = sum.bytes / sum.seconds, .is_measured = true};
    out->spread = spread_of(windows->windows + first, count);
    out->slowest_second_bytes_per_s = slowest_second(windows->windows + first, count);
}

void hr__windows_tell_apart(struct hr_speed *speed, const struct hr_windows *large, const struct hr_windows *small)
{
    struct hr_speed_sample l = sum_of(large), s = sum_of(small);
    double determinant = l.bytes * s.files - s.bytes * l.files;
    if (determinant <= 0)
        return;
    double byte_s = (l.seconds * s.files - s.seconds * l.files) / determinant;
    double file_s = (s.seconds - s.bytes * byte_s) / s.files;
    if (byte_s > 0 && file_s > 0) {
        speed->bytes_per_s = 1 / byte_s;
        speed->file_s = file_s;
    }
}
