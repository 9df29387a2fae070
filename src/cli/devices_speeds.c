/* SPDX-License-Identifier: ISC */
#include "cli/devices_speeds.h"

static bool take_newest(void *context, const struct hr_ledger_speed *speed)
{
    *(double *)context = speed->bytes_per_s;
    return false;
}

enum hr_status devices_speeds_find(struct devices_speeds *out, struct hr_ledger *ledger, const struct hr_device *device,
                                   struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    *out = (struct devices_speeds){.bytes_per_s = {0}};
    for (int i = 0; ledger && *device->identity && status == HR_OK && i < HR_DIRECTION_COUNT; i++)
        status = hr_ledger_speeds(ledger, device->identity, device->link.identity,
                                  hr_direction_name((enum hr_direction)i), 1, take_newest, &out->bytes_per_s[i], fault);
    return status;
}
