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

#endif
