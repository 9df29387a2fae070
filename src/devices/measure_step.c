/* SPDX-License-Identifier: ISC */
#include <math.h>

#include "devices/measure_windows.h"

static const double slower_than = 0.8, held_s = 5, held_share = 0.2;

/* Sums over points (t, b): seconds since the beginning, bytes so far. */
struct sums {
    double n, t, tt, b, tb, bb;
};

static void add_point(struct sums *sums, double t, double b)
{
    sums->n++;
    sums->t += t;
    sums->tt += t * t;
    sums->b += b;
    sums->tb += t * b;
    sums->bb += b * b;
}

/* The best rates v1 up to `at`, v2 from there on, for b(t) = v1 min(t, at) + v2 max(0, t - at), and what they leave.
 * `before` are the sums up to `at`, `all` over every point. */
static double fit_two_rates(double *v1, double *v2, double at, const struct sums *before, const struct sums *all)
{
    double n = all->n - before->n, t = all->t - before->t, tt = all->tt - before->tt;
    double b = all->b - before->b, tb = all->tb - before->tb;
    double a11 = before->tt + n * at * at, a12 = at * (t - n * at), a22 = tt - 2 * at * t + n * at * at;
    double c1 = before->tb + at * b, c2 = tb - at * b;
    double determinant = a11 * a22 - a12 * a12;
    if (determinant <= 0)
        return INFINITY;
    *v1 = (c1 * a22 - c2 * a12) / determinant;
    *v2 = (c2 * a11 - c1 * a12) / determinant;
    return all->bb - *v1 * c1 - *v2 * c2;
}

static bool is_step(const struct hr_rate_step *step, double at, double seconds)
{
    double held = seconds - at;
    return step->slow_bytes_per_s >= 0 && step->slow_bytes_per_s < slower_than * step->fast_bytes_per_s &&
           held >= held_s && held >= held_share * at;
}

bool hr__windows_step(struct hr_rate_step *out, const struct hr_windows *windows)
{
    struct sums all = {0}, before = {0};
    double t = 0, b = 0, at = 0, least = INFINITY;
    for (size_t i = 0; i < windows->count; i++)
        add_point(&all, t += windows->windows[i].seconds, b += windows->windows[i].bytes);
    double seconds = t;
    struct hr_rate_step best = {0};
    t = b = 0;
    for (size_t i = 0; i + 1 < windows->count; i++) {
        double v1 = 0, v2 = 0;
        add_point(&before, t += windows->windows[i].seconds, b += windows->windows[i].bytes);
        double left = fit_two_rates(&v1, &v2, t, &before, &all);
        if (left < least) {
            least = left;
            at = t;
            best = (struct hr_rate_step){.fast_bytes = b, .fast_bytes_per_s = v1, .slow_bytes_per_s = v2};
        }
    }
    if (!is_step(&best, at, seconds))
        return false;
    *out = best;
    return true;
}
