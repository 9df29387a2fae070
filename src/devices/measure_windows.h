/* SPDX-License-Identifier: ISC */
/* What was moved in how much time, window after window, and the figures that come of it. Times are handed in.
 *
 *     hr__windows_start(&windows, now)       the first window opens
 *     hr__windows_moved(&windows, ...)       after each block; a window closes once it is long enough
 *     hr__windows_end(&windows, now)         all has arrived
 *     hr__windows_finish(&windows) */
#ifndef HR_DEVICES_MEASURE_WINDOWS_H
#define HR_DEVICES_MEASURE_WINDOWS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/devices.h>

struct hr_windows {
    struct hr_speed_sample *windows; /* owned */
    size_t count, capacity;
    int64_t least_ns, since_ns; /* how long a window lasts at least; when the open one began */
    double files, bytes;        /* in the open one */
    bool is_broken;             /* memory is out */
};

/* `windows` is zeroed but for least_ns. Starting again opens a new window after a pause and forgets an open one. */
void hr__windows_start(struct hr_windows *windows, int64_t now_ns);
/* True when a window was closed. With `may_close` false what was moved is not known to have arrived yet. */
bool hr__windows_moved(struct hr_windows *windows, double files, double bytes, bool may_close, int64_t now_ns);
/* What was moved in too short a time for a window is one all the same when it is all there is. */
void hr__windows_end(struct hr_windows *windows, int64_t now_ns);
void hr__windows_finish(struct hr_windows *windows);

/* Bytes, seconds, mean rate, spread and slowest second. All 0 where there are no windows. Here and in the next those of
 * the first half second do not count, for a device at rest takes something on credit; but half of them always do. */
void hr__windows_measure(struct hr_measured *out, const struct hr_windows *windows);

/* Tells what a file costs from what a byte does, by what large and small files took: two equations, files x cost +
 * bytes / rate = seconds. Where one is missing, or they give no cost, `speed` stays as it is. */
void hr__windows_tell_apart(struct hr_speed *speed, const struct hr_windows *large, const struct hr_windows *small);

/* A rate that steps down and stays down. */
struct hr_rate_step {
    double fast_bytes, fast_bytes_per_s, slow_bytes_per_s;
};
/* Where the windows, all of them, show one: the change between two rates that fits the bytes moved so far best, by
 * least squares. It is one when the second rate is under 0.8 of the first and held for 5 s and a fifth of the time
 * before (common practice, no source). */
bool hr__windows_step(struct hr_rate_step *out, const struct hr_windows *windows);

#endif
