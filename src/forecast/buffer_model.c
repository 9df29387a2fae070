/* SPDX-License-Identifier: ISC */
#include <math.h>

#include <headrace/buffer.h>

#include "base/fault.h"

/* 5 % of a normal distribution lie past it on each side. */
static const double quantile_90 = 1.6449;
/* Counts by hand or from stamps are off by about so much: common practice, no source. */
static const double usual_error = 0.015;
/* A rate this near the drain pins it down. */
static const double slow_rate = 1.25;
/* Two counts at one rate that are of one buffer. */
static const double same_rate_share = 1.0 / 3;
enum { STEPS_MAX = 100 };

double hr_buffer_frames_until_full(const struct hr_buffer *buffer, double per_s)
{
    return buffer->drain_per_s >= per_s ? INFINITY : buffer->depth_frames / (1 - buffer->drain_per_s / per_s);
}

double hr_buffer_seconds_until_full(const struct hr_buffer *buffer, double per_s)
{
    return hr_buffer_frames_until_full(buffer, per_s) / per_s;
}

double hr_buffer_seconds_to_clear(const struct hr_buffer *buffer)
{
    return buffer->drain_per_s > 0 ? buffer->depth_frames / buffer->drain_per_s : INFINITY;
}

struct hr_buffer hr_buffer_with_size(const struct hr_buffer *buffer, double size)
{
    return (struct hr_buffer){buffer->depth_frames / size, buffer->drain_per_s / size};
}

/* ---- Fitting ---- */

/* Normal equations of two unknowns. */
struct normal {
    double a, b, c, u, v; /* (a b; b c) x = (u; v) */
};

static bool solve(double *x, double *y, const struct normal *normal)
{
    double determinant = normal->a * normal->c - normal->b * normal->b;
    if (!(fabs(determinant) > 1e-12 * normal->a * normal->c))
        return false;
    *x = (normal->u * normal->c - normal->v * normal->b) / determinant;
    *y = (normal->a * normal->v - normal->b * normal->u) / determinant;
    return true;
}

/* The line 1/N = 1/b - (r/b) / f, weighted by N^2. */
static bool fit_line(struct hr_buffer *out, const struct hr_buffer_count *counts, size_t count)
{
    struct normal normal = {0};
    double one_over_depth, slope;
    for (size_t i = 0; i < count; i++) {
        double w = counts[i].frames * counts[i].frames, x = 1 / counts[i].per_s, y = 1 / counts[i].frames;
        normal.a += w;
        normal.b += w * x;
        normal.c += w * x * x;
        normal.u += w * y;
        normal.v += w * x * y;
    }
    if (!solve(&one_over_depth, &slope, &normal) || one_over_depth <= 0)
        return false;
    *out = (struct hr_buffer){1 / one_over_depth, -slope / one_over_depth};
    return true;
}

/* d ln N / d ln b = 1, d ln N / dr = 1 / (f - r). */
static struct normal linearise(const struct hr_buffer *buffer, const struct hr_buffer_count *counts, size_t count)
{
    struct normal normal = {0};
    for (size_t i = 0; i < count; i++) {
        double by_drain = 1 / (counts[i].per_s - buffer->drain_per_s);
        double off = log(counts[i].frames / hr_buffer_frames_until_full(buffer, counts[i].per_s));
        normal.a += 1;
        normal.b += by_drain;
        normal.c += by_drain * by_drain;
        normal.u += off;
        normal.v += by_drain * off;
    }
    return normal;
}

static double slowest(const struct hr_buffer_count *counts, size_t count)
{
    double least = counts[0].per_s;
    for (size_t i = 1; i < count; i++)
        least = fmin(least, counts[i].per_s);
    return least;
}

/* Gauss and Newton's steps on log N; none goes past the slowest rate, where counts have no end. */
static void refine(struct hr_buffer *buffer, const struct hr_buffer_count *counts, size_t count)
{
    double least_per_s = slowest(counts, count), by_depth = 1, by_drain = 1;
    for (int i = 0; i < STEPS_MAX && fabs(by_depth) + fabs(by_drain) > 1e-12; i++) {
        struct normal normal = linearise(buffer, counts, count);
        if (!solve(&by_depth, &by_drain, &normal))
            return;
        double room = (least_per_s - buffer->drain_per_s) / 2;
        buffer->depth_frames *= exp(by_depth);
        buffer->drain_per_s += fmin(by_drain, room);
    }
}

static void find_ranges(struct hr_buffer_fit *fit, const struct hr_buffer_count *counts, size_t count, double error)
{
    struct normal normal = linearise(&fit->buffer, counts, count);
    double squares = 0, determinant = normal.a * normal.c - normal.b * normal.b;
    for (size_t i = 0; i < count; i++)
        squares += counts[i].residual * counts[i].residual;
    if (count > 2)
        error = fmax(error, sqrt(squares / (double)(count - 2)));
    double depth = quantile_90 * error * sqrt(normal.c / determinant),
           drain = quantile_90 * error * sqrt(normal.a / determinant);
    fit->depth =
        (struct hr_buffer_range){fit->buffer.depth_frames * exp(-depth), fit->buffer.depth_frames * exp(depth)};
    fit->drain = (struct hr_buffer_range){fmax(0, fit->buffer.drain_per_s - drain), fit->buffer.drain_per_s + drain};
}

static enum hr_status check_counts(const struct hr_buffer_count *counts, size_t count, struct hr_fault *fault)
{
    if (count == 0)
        return hr__fault_set(fault, HR_INVALID, 0, "a fit needs counts: frames until the camera stopped, at a rate");
    for (size_t i = 0; i < count; i++) {
        if (!(counts[i].per_s > 0 && counts[i].frames > 0 && isfinite(counts[i].per_s) && isfinite(counts[i].frames)))
            return hr__fault_set(fault, HR_INVALID, 0, "rates and counts must be above 0");
        for (size_t j = 0; j < i; j++)
            if (counts[i].per_s == counts[j].per_s && fabs(counts[i].frames / counts[j].frames - 1) > same_rate_share)
                return hr__fault_set(fault, HR_INVALID, 0,
                                     "two counts at %g a second, %g and %g: these are not of one buffer",
                                     counts[i].per_s, counts[j].frames, counts[i].frames);
    }
    return HR_OK;
}

static bool is_one_rate(const struct hr_buffer_count *counts, size_t count)
{
    for (size_t i = 1; i < count; i++)
        if (counts[i].per_s != counts[0].per_s)
            return false;
    return true;
}

static enum hr_status refuse(struct hr_fault *fault)
{
    return hr__fault_set(fault, HR_INVALID, 0,
                         "no buffer gives these counts: the slower the rate, the more frames a camera takes until it "
                         "stops");
}

enum hr_status hr_buffer_fit_counts(struct hr_buffer_fit *out, struct hr_buffer_count *counts, size_t count,
                                    double count_error, struct hr_fault *fault)
{
    struct hr_buffer_fit fit = {0};
    enum hr_status status = check_counts(counts, count, fault);
    if (status)
        return status;
    if (is_one_rate(counts, count)) {
        fit.cautions = HR_FIT_ONE_COUNT;
        fit.buffer.depth_frames = counts[0].frames;
        counts[0].predicted = counts[0].frames;
        *out = fit;
        return HR_OK;
    }
    if (!fit_line(&fit.buffer, counts, count) || fit.buffer.drain_per_s < 0 ||
        fit.buffer.drain_per_s >= slowest(counts, count))
        return refuse(fault);
    refine(&fit.buffer, counts, count);
    for (size_t i = 0; i < count; i++) {
        counts[i].predicted = hr_buffer_frames_until_full(&fit.buffer, counts[i].per_s);
        counts[i].residual = counts[i].frames / counts[i].predicted - 1;
    }
    if (!(fit.buffer.drain_per_s >= 0 && isfinite(fit.buffer.depth_frames)))
        return refuse(fault);
    find_ranges(&fit, counts, count, count_error > 0 ? count_error : usual_error);
    fit.cautions |= count == 2 ? HR_FIT_TWO_COUNTS : 0;
    fit.cautions |= slowest(counts, count) > slow_rate * fit.buffer.drain_per_s ? HR_FIT_NO_SLOW_RATE : 0;
    *out = fit;
    return HR_OK;
}
