/* SPDX-License-Identifier: ISC */
#include "sequence/stall.h"

#include <math.h>

/* A part of a burst lasts so long, or has so many frames, before its slope is believed. */
static const double least_part_s = 1.0, steps_per_part = 3;
enum { PART_FRAMES = 16 };
/* Fewer frames do, where the clock shows single intervals and the second part is so much slower. */
enum { SHARP_FRAMES = 4, STEPS_PER_INTERVAL = 4 };
static const double sharp_ratio = 1.5;
static const double least_ratio = 1.05;
/* Fewer frames may be missing by chance. */
static const double least_lost = 4;
/* A gap this much longer than both its neighbours is of frames that are missing. */
static const double missing_share = 1.5;
/* Of a perfect clock, lest a logarithm have no end. */
static const double least_squares = 1e-12;
enum { FRAMES_MIN = 8 };

/* A burst. */
struct times {
    const double *at_s;
    double *level_s; /* the same less what the mean interval explains, so that sums of squares keep their digits */
    size_t count;
    double mean_s, resolution_s;
};

/* Sums over frames of their number i and level time t. */
struct sums {
    double n, i, ii, t, it, tt;
};

struct fit {
    size_t knot;            /* the last frame that did not wait; 0: no fit */
    double held_s, drain_s; /* an interval before and after it */
    double squares;
};

static void add(struct sums *sums, double i, double t)
{
    sums->n += 1;
    sums->i += i;
    sums->ii += i * i;
    sums->t += t;
    sums->it += i * t;
    sums->tt += t * t;
}

/* The second moments with the means taken out. */
static struct sums centred(const struct sums *all)
{
    return (struct sums){.ii = all->ii - all->i * all->i / all->n,
                         .it = all->it - all->i * all->t / all->n,
                         .tt = all->tt - all->t * all->t / all->n};
}

/* Least squares of t = a + b i: what it leaves. */
static double one_line(const struct sums *all)
{
    struct sums about = centred(all);
    return fmax(0, about.tt - about.it * about.it / about.ii);
}

/* Least squares of t = a + b i + c max(0, i - knot), by its normal equations. `past` sums the frames past the knot. */
static struct fit two_lines(const struct times *times, const struct sums *all, const struct sums *past, size_t at)
{
    struct sums about = centred(all);
    double knot = (double)at, h = past->i - knot * past->n;
    double hh = past->ii - 2 * knot * past->i + knot * knot * past->n - h * h / all->n;
    double ih = past->ii - knot * past->i - all->i * h / all->n;
    double ht = past->it - knot * past->t - h * all->t / all->n;
    double determinant = about.ii * hh - ih * ih;
    if (determinant <= 0)
        return (struct fit){.squares = INFINITY};
    double b = (about.it * hh - ht * ih) / determinant, c = (ht * about.ii - about.it * ih) / determinant;
    return (struct fit){.knot = at,
                        .held_s = times->mean_s + b,
                        .drain_s = times->mean_s + b + c,
                        .squares = fmax(0, about.tt - b * about.it - c * ht)};
}

static bool is_missing_before(const double *gaps, size_t i, size_t count)
{
    return gaps[i] > missing_share * gaps[i - 1] && i + 1 < count && gaps[i] > missing_share * gaps[i + 1];
}

/* As if no single frame were missing, where the clock shows single intervals. `gaps_s` is working room. */
static void level_out(struct times *times, double *gaps_s)
{
    bool shows_intervals = times->resolution_s * STEPS_PER_INTERVAL <= times->mean_s;
    for (size_t i = 1; i < times->count; i++)
        gaps_s[i - 1] = times->at_s[i] - times->at_s[i - 1];
    times->level_s[0] = 0;
    for (size_t i = 1; i < times->count; i++) {
        bool is_missing = shows_intervals && i > 1 && is_missing_before(gaps_s, i - 1, times->count - 1);
        double gap_s = is_missing ? (gaps_s[i - 2] + gaps_s[i]) / 2 : gaps_s[i - 1];
        times->level_s[i] = times->level_s[i - 1] + gap_s - times->mean_s;
    }
}

static bool is_long_enough(const struct times *times, double seconds, size_t frames)
{
    return seconds >= steps_per_part * times->resolution_s && (seconds >= least_part_s || frames >= PART_FRAMES);
}

static bool is_sharp_enough(const struct times *times, const struct fit *fit, double seconds)
{
    return fit->knot >= SHARP_FRAMES && times->resolution_s * STEPS_PER_INTERVAL <= seconds / (double)fit->knot &&
           fit->drain_s >= sharp_ratio * fit->held_s;
}

/* The best of those whose parts are both long enough; none where a better one has fewer frames past its knot: with
 * frames that did not wait counted among those that did, the buffer would seem smaller and the card faster. */
static struct fit best_fit(const struct times *times, const struct sums *all)
{
    struct sums past = {0};
    struct fit best = {.squares = INFINITY};
    double least_squares_of_short = INFINITY;
    for (size_t knot = times->count - 2; knot > 0; knot--) {
        add(&past, (double)(knot + 1), times->level_s[knot + 1]);
        double held_s = times->at_s[knot] - times->at_s[0], full_s = times->at_s[times->count - 1] - times->at_s[knot];
        struct fit fit = two_lines(times, all, &past, knot);
        if (!is_long_enough(times, full_s, times->count - 1 - knot)) {
            least_squares_of_short = fmin(least_squares_of_short, fit.squares);
            continue;
        }
        if (fit.squares < best.squares && (is_long_enough(times, held_s, knot) || is_sharp_enough(times, &fit, held_s)))
            best = fit;
    }
    return least_squares_of_short < best.squares ? (struct fit){.squares = INFINITY} : best;
}

bool hr__stall_find(struct hr_stall_fit *out, const double *at_s, size_t count, double resolution_s, double *scratch)
{
    if (count < FRAMES_MIN)
        return false;
    double n = (double)count;
    struct times times = {.at_s = at_s,
                          .level_s = scratch,
                          .count = count,
                          .mean_s = (at_s[count - 1] - at_s[0]) / (n - 1),
                          .resolution_s = resolution_s};
    struct sums all = {0};
    level_out(&times, scratch + count);
    for (size_t i = 0; i < count; i++)
        add(&all, (double)i, times.level_s[i]);
    struct fit fit = best_fit(&times, &all);
    if (fit.knot == 0 || fit.held_s <= 0 || fit.drain_s < least_ratio * fit.held_s)
        return false;
    double floor = n * resolution_s * resolution_s / 12 + least_squares;
    double gain = n * log(fmax(one_line(&all), floor) / fmax(fit.squares, floor)) - 2 * log(n);
    double lost = (n - 1 - (double)fit.knot) * (fit.drain_s / fit.held_s - 1);
    if (gain <= 2 * log(n) || lost < least_lost)
        return false;
    *out = (struct hr_stall_fit){.full_at = fit.knot + 1,
                                 .held_per_s = 1 / fit.held_s,
                                 .drain_per_s = 1 / fit.drain_s,
                                 .confidence = 1 / (1 + exp(-gain / 2))};
    return true;
}
