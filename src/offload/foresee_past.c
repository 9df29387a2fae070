/* SPDX-License-Identifier: ISC */
#include "offload/foresee_past.h"

#include <math.h>
#include <stdlib.h>

#include "base/median.h"

/* More would remember a drive as it was; fewer would believe one odd run. */
enum { NEWEST = 5, RUNS_ENOUGH = 9 };
/* Runs are like each other up to this factor between their mean files, and between their bytes. */
static const double like_file = 2, like_bytes = 4;

/* ---- Speeds ---- */

struct newest {
    struct hr_speed speeds[NEWEST];
    size_t count;
};

static bool collect_speed(void *context, const struct hr_ledger_speed *speed)
{
    struct newest *newest = context;
    newest->speeds[newest->count++] = (struct hr_speed){.bytes_per_s = speed->bytes_per_s,
                                                        .file_s = speed->file_s,
                                                        .fast_bytes = speed->fast_bytes,
                                                        .slow_bytes_per_s = speed->slow_bytes_per_s,
                                                        .is_measured = true};
    return newest->count < NEWEST;
}

static int compare_rates(const void *a, const void *b)
{
    double left = ((const struct hr_speed *)a)->bytes_per_s, right = ((const struct hr_speed *)b)->bytes_per_s;
    return (left > right) - (left < right);
}

/* Of an even number, what lies halfway in time. Where a fast cache ends only a long measurement can tell: the newest
 * that does is believed. */
static struct hr_speed median_speed(struct newest *newest)
{
    struct hr_speed cached = {0};
    for (size_t i = newest->count; i-- > 0;)
        if (newest->speeds[i].fast_bytes > 0)
            cached = newest->speeds[i];
    qsort(newest->speeds, newest->count, sizeof *newest->speeds, compare_rates);
    const struct hr_speed *low = &newest->speeds[(newest->count - 1) / 2], *high = &newest->speeds[newest->count / 2];
    return (struct hr_speed){.bytes_per_s = 2 / (1 / low->bytes_per_s + 1 / high->bytes_per_s),
                             .file_s = (low->file_s + high->file_s) / 2,
                             .fast_bytes = cached.fast_bytes,
                             .slow_bytes_per_s = cached.slow_bytes_per_s,
                             .is_measured = true};
}

static bool find_speed(struct hr_speed *out, struct hr_ledger *ledger, const char *device, const char *link,
                       enum hr_direction direction)
{
    struct newest newest = {0};
    if (hr_ledger_speeds(ledger, device, link, hr_direction_name(direction), NEWEST, collect_speed, &newest, NULL) ||
        newest.count == 0)
        return false;
    *out = median_speed(&newest);
    return out->bytes_per_s > 0;
}

struct hr_speed hr__past_speed(struct hr_ledger *ledger, const struct hr_past_device *device,
                               enum hr_direction direction)
{
    struct hr_speed speed;
    double ceiling = device->link.ceiling_bytes_per_s;
    if (ledger && find_speed(&speed, ledger, device->device, device->link.identity, direction))
        return speed;
    if (!ledger || !find_speed(&speed, ledger, device->device, NULL, direction))
        return hr_speed_prior(ceiling);
    if (ceiling > 0 && speed.bytes_per_s > ceiling)
        speed.bytes_per_s = ceiling;
    speed.is_measured = false;
    return speed;
}

static bool take_together(void *context, const struct hr_ledger_speed *speed)
{
    double *together = context;
    *together = speed->together;
    return *together <= 0;
}

double hr__past_together(struct hr_ledger *ledger, const struct hr_past_device *device)
{
    double together = 0;
    if (ledger && hr_ledger_speeds(ledger, device->device, NULL, hr_direction_name(HR_DIRECTION_WRITE), NEWEST,
                                   take_together, &together, NULL))
        return 0;
    return together;
}

/* ---- Errors ---- */

static bool collect_error(void *context, const struct hr_ledger_forecast *forecast)
{
    struct hr_past_errors *errors = context;
    if (forecast->copied_s > 0 && forecast->real_copied_s > 0)
        errors->copied[errors->copied_count++] = log(forecast->real_copied_s / forecast->copied_s);
    if (forecast->verified_s > 0 && forecast->real_verified_s > 0)
        errors->verified[errors->verified_count++] = log(forecast->real_verified_s / forecast->verified_s);
    return errors->verified_count < HR_FORECAST_ERRORS_MAX && errors->copied_count < HR_FORECAST_ERRORS_MAX;
}

static bool find_errors(struct hr_past_errors *out, struct hr_ledger *ledger, const char *pair)
{
    *out = (struct hr_past_errors){0};
    return hr_ledger_forecasts(ledger, pair, HR_FORECAST_ERRORS_MAX, collect_error, out, NULL) == HR_OK &&
           out->verified_count >= RUNS_ENOUGH;
}

void hr__past_errors(struct hr_past_errors *out, struct hr_ledger *ledger, const char *pair)
{
    if (!ledger || (!find_errors(out, ledger, pair) && !find_errors(out, ledger, NULL)))
        *out = (struct hr_past_errors){0};
}

/* ---- Runs like this one ---- */

struct like_runs {
    const struct hr_forecast_job *job;
    double files, bytes; /* of the job */
    double logs[NEWEST]; /* log(real / by the job's speeds) */
    size_t count;
};

/* The job with the run's files and bytes, dealt out over cards and places as its own are. */
static struct hr_forecast_job job_of_run(const struct like_runs *like, const struct hr_ledger_forecast *run)
{
    struct hr_forecast_job job = *like->job;
    double files = (double)run->files / like->files, bytes = (double)run->bytes / like->bytes;
    for (size_t i = 0; i < job.card_count; i++) {
        job.cards[i].files *= files;
        job.cards[i].bytes *= bytes;
    }
    for (size_t i = 0; i < job.place_count; i++) {
        job.places[i].files *= files;
        job.places[i].bytes *= bytes;
    }
    return job;
}

static bool is_within(double a, double b, double factor)
{
    return a < b * factor && b < a * factor;
}

static bool is_like(const struct like_runs *like, const struct hr_ledger_forecast *run)
{
    double files = (double)run->files, bytes = (double)run->bytes;
    return run->real_verified_s > 0 && is_within(bytes / files, like->bytes / like->files, like_file) &&
           is_within(bytes, like->bytes, like_bytes);
}

static bool collect_run(void *context, const struct hr_ledger_forecast *run)
{
    struct like_runs *like = context;
    struct hr_forecast forecast;
    if (is_like(like, run)) {
        struct hr_forecast_job job = job_of_run(like, run);
        hr_forecast_make(&forecast, &job);
        like->logs[like->count++] = log(run->real_verified_s / forecast.verified_s);
    }
    return like->count < NEWEST;
}

struct hr_past_scale hr__past_scale(struct hr_ledger *ledger, const char *pair, const struct hr_forecast_job *job,
                                    double files, double bytes)
{
    struct like_runs like = {.job = job, .files = files, .bytes = bytes};
    if (!ledger || hr_ledger_forecasts(ledger, pair, HR_FORECAST_ERRORS_MAX, collect_run, &like, NULL) ||
        like.count == 0)
        return (struct hr_past_scale){0};
    return (struct hr_past_scale){.scale = exp(hr__median(like.logs, like.count)), .runs = like.count};
}
