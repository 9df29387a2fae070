/* SPDX-License-Identifier: ISC */
/* What the ledger remembers of devices and of earlier forecasts, as a forecast uses it. A ledger that cannot answer
 * remembers nothing. */
#ifndef HR_OFFLOAD_FORESEE_PAST_H
#define HR_OFFLOAD_FORESEE_PAST_H

#include <headrace/devices.h>
#include <headrace/forecast.h>
#include <headrace/ledger.h>

struct hr_past_device {
    const char *device;  /* as the ledger has it; borrowed */
    struct hr_link link; /* with the lowest ceiling on its way */
    double together;     /* as remembered; 0: never seen */
};

/* The median of the newest speeds through this link; else of those through any, as far as this one carries them; else
 * the prior of the ceiling. The last two are no measurements. `ledger` may be NULL. */
struct hr_speed hr__past_speed(struct hr_ledger *ledger, const struct hr_past_device *device,
                               enum hr_direction direction);
/* What the device was last seen to move reading and writing at once, as in struct hr_forecast_place; 0: never seen. */
double hr__past_together(struct hr_ledger *ledger, const struct hr_past_device *device);

/* log(real / foreseen) of past runs. */
struct hr_past_errors {
    double copied[HR_FORECAST_ERRORS_MAX], verified[HR_FORECAST_ERRORS_MAX];
    size_t copied_count, verified_count;
};
/* Of the newest runs of `pair` when there are enough for a range, else of any pair; none when there are too few of
 * these as well. */
void hr__past_errors(struct hr_past_errors *out, struct hr_ledger *ledger, const char *pair);

/* Of the newest runs of `pair` that were like the job, of `files` and `bytes`, in mean size of a file and in all: the
 * median of what each took in what the job's speeds say of it; all zero when there are none. */
struct hr_past_scale {
    double scale;
    size_t runs;
};
struct hr_past_scale hr__past_scale(struct hr_ledger *ledger, const char *pair, const struct hr_forecast_job *job,
                                    double files, double bytes);

#endif
