/* SPDX-License-Identifier: ISC */
/* What would be faster: the same job with another link, off a hub, without a place, without SHA-256. */
#include <stdio.h>

#include "base/units.h"
#include "offload/foresee.h"

/* What saves less is not worth a hand's turn. */
static const double worth_share = 0.95;
/* A device this near its link's ceiling is held by it. */
static const double held_share = 0.6;

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

/* ---- Another port ---- */

/* 0: it would be no faster there. */
static double ceiling_on_port(const struct hr_link *link, double signal_mbit_per_s)
{
    double ceiling = hr_link_ceiling(HR_LINK_USB, signal_mbit_per_s, 1);
    return link->kind == HR_LINK_USB && ceiling > link->ceiling_bytes_per_s ? ceiling : 0;
}

/* How far a device goes that its link held up is not known: it is taken to go as one that was never measured. */
static struct hr_speed speed_on_port(const struct hr_speed *speed, const struct hr_link *link, double ceiling)
{
    struct hr_speed prior = hr_speed_prior(ceiling);
    bool is_held = speed->bytes_per_s > held_share * link->ceiling_bytes_per_s;
    return is_held && prior.bytes_per_s > speed->bytes_per_s ? prior : *speed;
}

static void raise_link(struct hr_forecast_job *job, unsigned link, double ceiling)
{
    struct hr_forecast_link *row = hr_forecast_find_link(job, link);
    if (row)
        row->bytes_per_s = ceiling;
}

static bool is_of_stage(const struct hr_forecast_job *job, const struct hr_forecast_stage *stage,
                        enum hr_bottleneck kind, unsigned index, unsigned link)
{
    if (stage->kind == HR_LIMIT_CARD && kind == HR_LIMIT_CARD)
        return link == job->cards[stage->index].link;
    return stage->kind == HR_LIMIT_LINK ? link != 0 && link == stage->index
                                        : stage->kind == kind && stage->index == index;
}

/* Both set the job's devices of `stage` on a port of that signal, and say the path of one of them; NULL: none would be
 * faster there. */
static const char *plug_cards(struct hr_forecast_job *job, const struct hr_offload *offload,
                              const struct hr_forecast_stage *stage, double signal)
{
    const char *path = NULL;
    for (unsigned i = 0; i < job->card_count; i++) {
        const struct hr_link *link = &offload->cards[i].timed.link;
        double ceiling = ceiling_on_port(link, signal);
        if (ceiling <= 0 || !is_of_stage(job, stage, HR_LIMIT_CARD, i, job->cards[i].link))
            continue;
        job->cards[i].read = speed_on_port(&job->cards[i].read, link, ceiling);
        raise_link(job, job->cards[i].link, ceiling);
        path = offload->plan_cards[i].path;
    }
    return path;
}

static const char *plug_places(struct hr_forecast_job *job, const struct hr_offload *offload,
                               const struct hr_forecast_stage *stage, double signal)
{
    const char *path = NULL;
    for (unsigned i = 0; i < job->place_count; i++) {
        struct hr_forecast_place *place = &job->places[i];
        const struct hr_link *link = &offload->places[i].timed.link;
        double ceiling = ceiling_on_port(link, signal);
        if (ceiling <= 0 || !is_of_stage(job, stage, HR_LIMIT_PLACE, i, place->link))
            continue;
        place->write = speed_on_port(&place->write, link, ceiling);
        place->read_back = speed_on_port(&place->read_back, link, ceiling);
        raise_link(job, place->link, ceiling);
        path = offload->plan_places[i].path;
    }
    return path;
}

static void offer_port(struct hr_foreseen *foreseen, const struct hr_offload *offload,
                       const struct hr_forecast_stage *stage, double signal)
{
    struct hr_forecast_job job = foreseen->job;
    const char *card = plug_cards(&job, offload, stage, signal), *place = plug_places(&job, offload, stage, signal);
    if (card || place)
        offer(foreseen, &job, "%s on a port of %g Gb/s", card ? card : place, signal / 1000);
}

/* ---- Off the hub ---- */

/* Cards first, then places. */
static unsigned link_of_device(const struct hr_forecast_job *job, size_t device)
{
    return device < job->card_count ? job->cards[device].link : job->places[device - job->card_count].link;
}

static void offer_own_port(struct hr_foreseen *foreseen, unsigned link, unsigned hub, const char *path)
{
    struct hr_forecast_job job = foreseen->job;
    struct hr_forecast_link *own = hr_forecast_find_link(&job, link);
    if (!own || link == hub || !hr_forecast_crosses(&job, link, hub))
        return;
    own->up = 0;
    offer(foreseen, &job, "%s on a port of its own", path);
}

/* What shares a link leaves the hub together: the first of it tells. */
static bool is_first_on_link(const struct hr_forecast_job *job, size_t device)
{
    unsigned link = link_of_device(job, device);
    for (size_t i = 0; i < device; i++)
        if (link_of_device(job, i) == link)
            return false;
    return true;
}

static void offer_own_ports(struct hr_foreseen *foreseen, const struct hr_offload *offload, unsigned hub)
{
    const struct hr_forecast_job *job = &foreseen->job;
    for (size_t i = 0; i < job->card_count + job->place_count; i++) {
        const char *path =
            i < job->card_count ? offload->plan_cards[i].path : offload->plan_places[i - job->card_count].path;
        if (is_first_on_link(job, i))
            offer_own_port(foreseen, link_of_device(job, i), hub, path);
    }
}

/* ---- Less to do ---- */

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
    offer_port(foreseen, offload, stage, 5000);
    offer_port(foreseen, offload, stage, 10000);
    if (stage->kind == HR_LIMIT_LINK)
        offer_own_ports(foreseen, offload, stage->index);
    if (stage->kind == HR_LIMIT_DIGEST)
        offer_no_sha256(foreseen);
    if (stage->kind == HR_LIMIT_PLACE)
        offer_without_place(foreseen, stage->index, offload->plan_places[stage->index].path);
}
