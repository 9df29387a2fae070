/* SPDX-License-Identifier: ISC */
/* How long copying will take: pure arithmetic on speeds that are handed in.
 *
 * A stage moves `files` files of `bytes` bytes in files x file_s + bytes / rate seconds. An offload is stages side by
 * side; the one that takes longest, over all devices and links, sets the time (the bottleneck law). Reading cards,
 * making SHA-256, writing and reading back in each place are stages; what shares a device or a link adds up on it.
 * Speeds come from measurements (hr_speed_fit) or, where there are none, from what a link can carry at most
 * (hr_speed_prior). Sources of the formulas stand beside them. */
#ifndef HEADRACE_FORECAST_H
#define HEADRACE_FORECAST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ---- Speeds ---- */

/* How fast one stage is on one device. */
struct hr_speed {
    double bytes_per_s; /* 0: nothing is known, and the stage takes no time */
    double file_s;      /* a file costs as much on top */
    double fast_bytes;  /* a drive's fast write cache: after so many bytes it goes on at `slow_bytes_per_s`; 0: none
                           known */
    double slow_bytes_per_s;
    bool is_measured; /* else guessed from a ceiling */
};

/* Seconds for `files` files of `bytes` bytes together. Two phases where the speed has them: min(S, C) / v1 + max(0, S -
 * C) / v2. */
HR_API double hr_speed_seconds(const struct hr_speed *speed, double files, double bytes);

/* One file or one window of files that was timed. */
struct hr_speed_sample {
    double files, bytes, seconds;
};
/* Fits file_s and bytes_per_s: the slope of seconds against bytes a file by Theil and Sen (Sen 1968; breakdown 29.3 %)
 * and as file_s the median of what remains, at least 0. Where the sizes are too alike to tell one from the other (the
 * interquartile range is under half the median) file_s is 0 and the rate the median of bytes / seconds. False without
 * samples of any bytes. Reorders the samples. */
HR_API bool hr_speed_fit(struct hr_speed *out, struct hr_speed_sample *samples, size_t count, struct hr_fault *fault);
/* What is likely where nothing was measured: 0.6 of the ceiling; its logarithm is off by 0.4 (a guess). `ceiling` 0:
 * 100 MB/s. */
HR_API struct hr_speed hr_speed_prior(double ceiling_bytes_per_s);

/* ---- A job ---- */

enum { HR_FORECAST_CARDS_MAX = 16, HR_FORECAST_PLACES_MAX = 8 };

struct hr_forecast_card {
    double files, bytes; /* that are to be read */
    struct hr_speed read;
    unsigned link; /* cards of one link are read one after the other */
};
struct hr_forecast_place {
    double files, bytes; /* that are to be written and read back */
    struct hr_speed write, read_back;
    unsigned device; /* places with one number share a device */
    unsigned link;   /* and a link with what else has its number; 0: one of its own */
    double together; /* what the device moves reading and writing at once, in what it moves doing one alone: 1 one
                        budget, 2 two; 0: 1 */
};
struct hr_forecast_link {
    unsigned link;      /* as cards and places name it */
    double bytes_per_s; /* that it carries at most; 0: unknown */
};
struct hr_forecast_job {
    struct hr_forecast_card cards[HR_FORECAST_CARDS_MAX];
    size_t card_count;
    struct hr_forecast_place places[HR_FORECAST_PLACES_MAX];
    size_t place_count;
    struct hr_forecast_link links[HR_FORECAST_CARDS_MAX + HR_FORECAST_PLACES_MAX];
    size_t link_count;
    double digest_bytes_per_s; /* SHA-256; 0: not made */
    double overhead_s;         /* before the first and after the last byte */
};

enum hr_bottleneck { HR_LIMIT_NONE, HR_LIMIT_CARD, HR_LIMIT_LINK, HR_LIMIT_PLACE, HR_LIMIT_DIGEST };

/* A stage that could set the time. */
struct hr_forecast_stage {
    enum hr_bottleneck kind;
    unsigned index; /* of the card, link (number) or place */
    double seconds;
};

struct hr_forecast {
    double copied_s;                         /* all cards read and written: they may leave their readers */
    double verified_s;                       /* and read back */
    struct hr_forecast_stage holds_up, next; /* what sets verified_s, and what would if that took no time */
    bool is_measured;                        /* every stage that matters rests on measurements */
};

HR_API void hr_forecast_make(struct hr_forecast *out, const struct hr_forecast_job *job);

/* ---- Ranges ---- */

/* What forecasts were off by before: log(real seconds / forecast seconds), any order. The 90 % range comes by split
 * conformal prediction (Vovk et al. 2005; Lei et al. 2018): the k-th smallest of |error|, k = ceil((n + 1) 0.9); with
 * fewer than 9 errors, where that has no end, the spread of the prior is used: `is_measured` 0.25, else 0.4 x 1.645. */
struct hr_forecast_range {
    double low_s, high_s;
};
HR_API struct hr_forecast_range hr_forecast_range(double seconds, const double *log_errors, size_t error_count,
                                                  bool is_measured);
/* k of that rule for n errors and a share of 0.9; 0: it has no end. */
HR_API size_t hr_conformal_rank(size_t error_count, double share);

/* ---- What fits ---- */

/* How many of the items of `bytes[count]`, in that order, can be verified by `seconds` at the upper bound: the longest
 * beginning whose verified_s x `factor` is no more. `job` says speeds and links; its files and bytes are not looked at:
 * each item is read from `card_of[i]` and goes to every place. */
HR_API size_t hr_forecast_fits(const struct hr_forecast_job *job, const uint64_t *bytes, const uint8_t *card_of,
                               size_t count, double seconds, double factor);

#ifdef __cplusplus
}
#endif
#endif
