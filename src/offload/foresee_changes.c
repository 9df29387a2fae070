/* SPDX-License-Identifier: ISC */
/* What would be faster: the same job with another link, without a place, without SHA-256. */
#include <stdio.h>

#include "base/units.h"
#include "offload/foresee.h"

/* What saves less is not worth a hand's turn. */
static const double worth_share = 0.95;

HR_PRINTF(3, 4)
static void offer(struct hr_foreseen *foreseen, const struct hr_forecast_job *job, const char *format, ...)
{
    struct hr_forecast forecast;
    struct hr_foreseen_change *change = &foreseen->changes[foreseen->change_count];
    va_list arguments;
    hr_forecast_make(&forecast, job);
    if (foreseen->change_count == HR_CHANGES_MAX || forecast.verified_s > worth_share * foreseen->forecast.verified_s)
        return;
    va_start(arguments, format);
    vsnprintf(change->text, sizeof change->text, format, arguments);
    va_end(arguments);
    change->verified_s = forecast.verified_s;
    foreseen->change_count++;
}

static void offer_no_sha256(struct hr_foreseen *foreseen)
{
    struct hr_forecast_job job = foreseen->job;
    job.digest_bytes_per_s = 0;
    offer(foreseen, &job, "with --digest xxh128");
}

/* What the other places would take alone; this one can follow later. */
static void offer_without_place(struct hr_foreseen *foreseen, size_t place, const char *path)
{
    struct hr_forecast_job job = foreseen->job;
    job.places[place].files = job.places[place].bytes = 0;
    if (job.place_count > 1)
        offer(foreseen, &job, "without the place %s", path);
}

void hr__foresee_changes(struct hr_offload *offload)
{
    struct hr_foreseen *foreseen = &offload->foreseen;
    const struct hr_forecast_stage *stage = &foreseen->forecast.stages[0];
    if (foreseen->forecast.stage_count == 0)
        return;
    if (stage->kind == HR_LIMIT_DIGEST)
        offer_no_sha256(foreseen);
    if (stage->kind == HR_LIMIT_PLACE)
        offer_without_place(foreseen, stage->index, offload->plan_places[stage->index].path);
}
