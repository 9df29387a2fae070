/* SPDX-License-Identifier: ISC */
/* How long copying will take: pure arithmetic on speeds that are handed in.
 *
 * A stage moves `files` files of `bytes` bytes in files x file_s + bytes / rate seconds. An offload is stages side by
 * side; the one that takes longest, over all devices and links, sets the time (the bottleneck law). Reading cards,
 * making SHA-256, writing and reading back in each place are stages; what shares a device or a link adds up on it.
 * Speeds come from measurements (hr_speed_fit) or, where there are none, from what a link can carry at most
 * (hr_speed_prior). What a change would save is the difference of two forecasts: change a speed or a link of the job
 * and make it again. Sources of the formulas stand beside them. */
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
    double bytes_per_s;      /* 0: nothing is known, and bytes take no time */
    double file_s;           /* a file costs as much on top */
    double fast_bytes;       /* a drive's fast write cache: after so many bytes */
    double slow_bytes_per_s; /* it goes on like this; 0: it does not slow down, as far as is known */
    bool is_measured;        /* else guessed from a ceiling */
};

/* Seconds for `files` files of `bytes` bytes together; where the drive slows down, min(S, C) / v1 + max(0, S - C) / v2
 * for bytes S, cache C and its two rates. */
HR_API double hr_speed_seconds(const struct hr_speed *speed, double files, double bytes);

/* A file, or a window of several or of part of one, that was timed. */
struct hr_speed_sample {
    double files; /* under 1 counts as 1 */
    double bytes, seconds;
};
/* Fits bytes_per_s and file_s: the slope of seconds against bytes a file by Theil and Sen (Sen 1968; breakdown 29.3 %)
 * and the median of what remains, at least 0. Where the sizes are too alike to tell one from the other (their
 * interquartile range is under half their median) file_s is 0 and the rate the median of bytes / seconds. Of more than
 * 300 samples 300 are looked at, evenly taken; those of no time are passed over. HR_NOT_FOUND when no bytes were timed,
 * HR_NOMEM; then *out is untouched. */
HR_API HR_MUST_USE enum hr_status hr_speed_fit(struct hr_speed *out, const struct hr_speed_sample *samples,
                                               size_t count, struct hr_fault *fault);
/* What is likely where nothing was measured: 0.6 of the ceiling; its logarithm is off by 0.4 (both are guesses).
 * Without a ceiling, 0: 100 MB/s. */
HR_API struct hr_speed hr_speed_prior(double ceiling_bytes_per_s);

/* ---- A job ---- */

enum {
    HR_FORECAST_CARDS_MAX = 16,
    HR_FORECAST_PLACES_MAX = 8,
    HR_FORECAST_DEVICES_MAX = HR_FORECAST_CARDS_MAX + HR_FORECAST_PLACES_MAX,
    HR_FORECAST_LINKS_MAX = 2 * HR_FORECAST_DEVICES_MAX, /* one each, and the hubs that join them */
    HR_FORECAST_STAGES_MAX = HR_FORECAST_DEVICES_MAX + HR_FORECAST_LINKS_MAX + 1
};

struct hr_forecast_card {
    double files, bytes; /* that are to be read */
    struct hr_speed read;
    unsigned link;   /* cards of one link are read one after the other; 0: one of its own */
    double readings; /* how often each file is read; 0: once */
};
#define HR_TOGETHER_BESIDE 1.4 /* of `together`, below */
struct hr_forecast_place {
    double files, bytes;               /* that are to be written and read back */
    double unread_files, unread_bytes; /* that stand there already and are only to be read back */
    struct hr_speed write, read_back;
    unsigned device; /* places with one number share a device, and the fast cache of its first place */
    unsigned link;   /* shared with what else has its number; 0: one of its own */
    /* The share of its speed of writing and the share of its speed of reading that the device keeps when it does both
     * at once, added up: 1 one budget, 2 two; 0: unknown, as 1. The engine has three ways, and the forecast follows it.
     * From HR_TOGETHER_BESIDE on reading back goes on beside writing, and the device takes max(W, R, (W + R) /
     * together) seconds, W for its writes and R for its read-backs. Below that reading takes what writing leaves: W +
     * R. Below 0.7, where heads travel, it begins when all is written: R after copied_s. A device has that of its first
     * place. */
    double together;
};
struct hr_forecast_link {
    unsigned link;      /* as cards, places and other links name it */
    double bytes_per_s; /* that it carries at most, both ways together; 0: unknown */
    unsigned up;        /* the link that what crosses it crosses next: of the hub it is plugged into; 0: none */
};
struct hr_forecast_job {
    struct hr_forecast_card cards[HR_FORECAST_CARDS_MAX];
    size_t card_count;
    size_t cards_at_once; /* read at the same time, of different links; 0: as many as there are */
    struct hr_forecast_place places[HR_FORECAST_PLACES_MAX];
    size_t place_count;
    struct hr_forecast_link links[HR_FORECAST_LINKS_MAX];
    size_t link_count;
    double digest_bytes_per_s; /* SHA-256; 0: not made */
    double overhead_s;         /* before the first and after the last byte */
    double last_bytes;         /* of the last file: no place reads it back before all is written; 0: left out */
    double scale; /* of all times: what past runs like it took, in what these speeds say of them; 0: not known */
};

/* Seconds of all readings of the card. */
HR_API double hr_forecast_card_seconds(const struct hr_forecast_card *card);
/* Seconds until all cards are read, each taken in its turn as soon as its link is free and fewer than cards_at_once are
 * read. */
HR_API double hr_forecast_cards_seconds(const struct hr_forecast_job *job);

/* What a forecast rests on. */
enum hr_forecast_basis {
    HR_BASIS_CEILINGS, /* some speed of a card or a place is a guess */
    HR_BASIS_MEASURED, /* none is */
    HR_BASIS_RUNS      /* past runs like it were looked at */
};

enum hr_bottleneck { HR_LIMIT_NONE, HR_LIMIT_CARD, HR_LIMIT_LINK, HR_LIMIT_PLACE, HR_LIMIT_DIGEST };

/* What something takes by itself: the cards of a link reading (of the slowest, with what it waits for), a place's device
 * writing and reading back, a link carrying all that crosses it. */
struct hr_forecast_stage {
    enum hr_bottleneck kind;
    unsigned index; /* of the first card or first place, number of the link, 0 for the digest */
    double seconds;
};

struct hr_forecast {
    double copied_s;   /* all is read and written: cards may leave their readers */
    double verified_s; /* and read back: overhead_s and, at the least, the slowest stage */
    /* Slowest first, those of no time left out: the first holds all up, the second would if the first took no time. */
    struct hr_forecast_stage stages[HR_FORECAST_STAGES_MAX];
    size_t stage_count;
    enum hr_forecast_basis basis;
};

/* The job's own row of a link, where it may be changed; NULL: it has none. */
HR_API struct hr_forecast_link *hr_forecast_find_link(struct hr_forecast_job *job, unsigned link);
/* Does what is on the link `from` cross `link`? Its own it does. */
HR_API bool hr_forecast_crosses(const struct hr_forecast_job *job, unsigned from, unsigned link);
/* No counts past the maxima. */
HR_API void hr_forecast_make(struct hr_forecast *out, const struct hr_forecast_job *job);

/* ---- Ranges ---- */

enum { HR_FORECAST_ERRORS_MAX = 128 };

struct hr_forecast_range {
    double low_s, high_s;
};
/* The 90 % range of `seconds`, from what forecasts were off by before: log(real seconds / forecast seconds), the first
 * HR_FORECAST_ERRORS_MAX of them. By split conformal prediction (Vovk et al. 2005; Lei et al. 2018): the k-th smallest
 * of |error| either way, k by hr_conformal_rank. With fewer than 9 errors, where that has no end, it goes by the basis:
 * the spread of the prior, 0.4 x 1.645, is a guess; the others are what 9 of 10 runs were off by on emulated drives. */
HR_API struct hr_forecast_range hr_forecast_range(double seconds, const double *log_errors, size_t error_count,
                                                  enum hr_forecast_basis basis);
/* ceil((n + 1) x share) for n errors; 0 where that is more than n. */
HR_API size_t hr_conformal_rank(size_t error_count, double share);

/* ---- What fits ---- */

/* How many of the files of `bytes[count]`, in that order, can be verified within `seconds` at the upper bound: the
 * longest beginning of which each file's verified_s x `factor`, as the last one, is no more. `job` says speeds and
 * links, and what is still unread in places; its other files and bytes are not looked at: file i is read from card
 * `card_of[i]` and goes to every place. */
HR_API size_t hr_forecast_fits(const struct hr_forecast_job *job, const uint64_t *bytes, const uint8_t *card_of,
                               size_t count, double seconds, double factor);

#ifdef __cplusplus
}
#endif
#endif
