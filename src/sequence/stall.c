/* SPDX-License-Identifier: ISC */
#include "sequence/stall.h"

#include <math.h>
#include <stdint.h>

/* A part of a burst lasts so long, or has so many frames, before its slope is believed. */
static const double least_part_s = 1.0, steps_per_part = 3;
enum { PART_FRAMES = 16 };
static const double least_ratio = 1.05;
/* Fewer frames may be missing by chance. */
static const double least_lost = 4;
/* A gap this much longer than both its neighbours is of frames that are missing. */
static const double missing_share = 1.5;
/* Of a perfect clock, lest a logarithm have no end. */
static const double least_squares = 1e-12;
enum { FRAMES_MIN = 8 };

struct fit {
    double slope_before, slope_after, squares; /* seconds a frame */
};

/* Sums over all frames of time t against frame number i, and of those past a knot. */
struct sums {
    double n, i, ii, t, it, tt;
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

/* Least squares of one line: what is left of the variance. */
static double one_line(const struct sums *all)
{
    double ii = all->ii - all->i * all->i / all->n, it = all->it - all->i * all->t / all->n,
           tt = all->tt - all->t * all->t / all->n;
    return fmax(0, tt - it * it / ii);
}

/* Least squares of t = a + b i + c max(0, i - knot), by its normal equations with means taken out. `past` sums the
 * frames past the knot. */
static struct fit two_lines(const struct sums *all, const struct sums *past, double knot)
{
    double h = past->i - knot * past->n, hh = past->ii - 2 * knot * past->i + knot * knot * past->n,
           ih = past->ii - knot * past->i, ht = past->it - knot * past->t;
    double ii = all->ii - all->i * all->i / all->n, it = all->it - all->i * all->t / all->n,
           tt = all->tt - all->t * all->t / all->n;
    hh -= h * h / all->n;
    ih -= all->i * h / all->n;
    ht -= h * all->t / all->n;
    double determinant = ii * hh - ih * ih;
    if (determinant <= 0)
        return (struct fit){.squares = INFINITY};
    double b = (it * hh - ht * ih) / determinant, c = (ht * ii - it * ih) / determinant;
    return (struct fit){b, b + c, fmax(0, tt - b * it - c * ht)};
}

static bool is_missing_before(const double *gaps, size_t i, size_t count)
{
    return gaps[i] > missing_share * gaps[i - 1] && i + 1 < count && gaps[i] > missing_share * gaps[i + 1];
}

/* The times as if no single frame were missing, where the clock shows single intervals, less what the mean interval
 * explains: so sums of squares keep their digits. */
static double level_times(double *level, double *gaps, const double *at_s, size_t count, double resolution_s)
{
    double mean_s = (at_s[count - 1] - at_s[0]) / (double)(count - 1);
    bool shows_intervals = resolution_s <= mean_s / 2;
    for (size_t i = 1; i < count; i++)
        gaps[i - 1] = at_s[i] - at_s[i - 1];
    level[0] = 0;
    for (size_t i = 1; i < count; i++) {
        bool is_missing = shows_intervals && i > 1 && is_missing_before(gaps, i - 1, count - 1);
        level[i] = level[i - 1] - mean_s + (is_missing ? (gaps[i - 2] + gaps[i]) / 2 : gaps[i - 1]);
    }
    return mean_s;
}

static bool is_long_enough(double seconds, size_t frames, double resolution_s)
{
    return seconds >= steps_per_part * resolution_s && (seconds >= least_part_s || frames >= PART_FRAMES);
}

/* The best knot whose parts are both long enough; SIZE_MAX when there is none. */
static size_t best_knot(struct fit *out, const struct sums *all, const double *level, const double *at_s, size_t count,
                        double resolution_s)
{
    struct sums past = {0};
    size_t best = SIZE_MAX;
    *out = (struct fit){.squares = INFINITY};
    for (size_t knot = count - 2; knot > 0; knot--) {
        add(&past, (double)(knot + 1), level[knot + 1]);
        if (!is_long_enough(at_s[knot] - at_s[0], knot, resolution_s) ||
            !is_long_enough(at_s[count - 1] - at_s[knot], count - 1 - knot, resolution_s))
            continue;
        struct fit fit = two_lines(all, &past, (double)knot);
        if (fit.squares < out->squares) {
            *out = fit;
            best = knot;
        }
    }
    return best;
}

bool hr__stall_find(struct hr_stall_fit *out, const double *at_s, size_t count, double resolution_s, double *scratch)
{
    double *level = scratch, n = (double)count;
    if (count < FRAMES_MIN)
        return false;
    double mean_s = level_times(level, scratch + count, at_s, count, resolution_s);
    struct sums all = {0};
    struct fit fit;
    for (size_t i = 0; i < count; i++)
        add(&all, (double)i, level[i]);
    size_t knot = best_knot(&fit, &all, level, at_s, count, resolution_s);
    double held_s = mean_s + fit.slope_before, drain_s = mean_s + fit.slope_after;
    if (knot == SIZE_MAX || held_s <= 0 || drain_s < least_ratio * held_s)
        return false;
    double floor = n * resolution_s * resolution_s / 12 + least_squares;
    double gain = n * log(fmax(one_line(&all), floor) / fmax(fit.squares, floor)) - 2 * log(n);
    double lost = (n - 1 - (double)knot) * (drain_s / held_s - 1);
    if (gain <= 2 * log(n) || lost < least_lost)
        return false;
    *out = (struct hr_stall_fit){.full_at = knot + 1,
                                 .held_per_s = 1 / held_s,
                                 .drain_per_s = 1 / drain_s,
                                 .confidence = 1 / (1 + exp(-gain / 2))};
    return true;
}
