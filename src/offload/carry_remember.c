/* SPDX-License-Identifier: ISC */
/* What a run without failures teaches: the speeds of its devices, and how far off its forecast was. */
#include <stdlib.h>

#include "base/units.h"
#include "offload/carry.h"
#include "offload/foresee.h"
#include "platform/clock.h"

static void add_speed(struct hr_carry *carry, const struct hr_past_device *device, enum hr_direction direction,
                      const struct hr_speed *speed, double together)
{
    struct hr_fault fault = {0};
    const struct hr_offload_plan *plan = &carry->offload->plan;
    struct hr_ledger_speed row = {.device = device->device,
                                  .link = device->link.identity,
                                  .direction = hr_direction_name(direction),
                                  .source = "offload",
                                  .at_wall_ns = hr__clock_wall_ns(),
                                  .bytes = plan->bytes_to_copy,
                                  .bytes_per_s = speed->bytes_per_s,
                                  .file_s = speed->file_s,
                                  .fast_bytes = speed->fast_bytes,
                                  .slow_bytes_per_s = speed->slow_bytes_per_s,
                                  .together = together};
    if (carry->offload->ledger && hr_ledger_add_speed(carry->offload->ledger, &row, &fault))
        hr__carry_ledger_failed(carry, &fault);
}

static void remember_card(struct hr_carry *carry, size_t index)
{
    const struct hr_offload_card *card = &carry->offload->cards[index];
    struct hr_speed read;
    if (hr__learn_card(&read, &carry->learn, &carry->offload->foreseen.job, index))
        add_speed(carry, &card->timed, HR_DIRECTION_READ, &read, 0);
}

/* What a longer look at the device told, its cache and how it reads while it writes, is handed on. */
static void remember_place(struct hr_carry *carry, size_t index)
{
    const struct hr_offload_place *place = &carry->offload->places[index];
    const struct hr_forecast_job *job = &carry->offload->foreseen.job;
    struct hr_learnt_place learnt = hr__learn_place(&carry->learn, job, index);
    if (learnt.has_write)
        add_speed(carry, &place->timed, HR_DIRECTION_WRITE, &learnt.write, place->timed.together);
    if (learnt.has_read_back)
        add_speed(carry, &place->timed, HR_DIRECTION_READ_BACK, &learnt.read_back, 0);
}

static void remember_forecast(struct hr_carry *carry)
{
    const struct hr_offload *offload = carry->offload;
    struct hr_fault fault = {0};
    char *pair = hr__foresee_pair(offload);
    struct hr_ledger_forecast row = {.run = offload->run,
                                     .pair = pair,
                                     .copied_s = offload->foreseen.forecast.copied_s,
                                     .verified_s = offload->foreseen.forecast.verified_s,
                                     .real_copied_s = (double)offload->result.copied_ns / HR_NS_PER_S,
                                     .real_verified_s = (double)offload->result.elapsed_ns / HR_NS_PER_S};
    if (pair && offload->ledger && hr_ledger_add_forecast(offload->ledger, &row, &fault))
        hr__carry_ledger_failed(carry, &fault);
    free(pair);
}

void hr__carry_remember(struct hr_carry *carry)
{
    const struct hr_offload *offload = carry->offload;
    const struct hr_offload_result *result = &offload->result;
    if (offload->run == 0 || offload->plan.files_to_copy == 0 || (!result->all_done && !result->stopped_at_deadline))
        return;
    for (size_t i = 0; i < offload->card_count; i++)
        remember_card(carry, i);
    for (size_t i = 0; i < offload->options.place_count; i++)
        remember_place(carry, i);
    if (result->all_done)
        remember_forecast(carry);
}
