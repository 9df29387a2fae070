/* SPDX-License-Identifier: ISC */
/* What the ledger knows of the speed of a device that is plugged in, through the link it now hangs on. */
#ifndef HR_CLI_DEVICES_SPEEDS_H
#define HR_CLI_DEVICES_SPEEDS_H

#include <headrace/devices.h>
#include <headrace/ledger.h>

/* The newest of each; 0: never measured. */
struct devices_speeds {
    double bytes_per_s[HR_DIRECTION_COUNT];
};

/* `ledger` NULL, or a device without identity: nothing is known. */
HR_MUST_USE enum hr_status devices_speeds_find(struct devices_speeds *out, struct hr_ledger *ledger,
                                               const struct hr_device *device, struct hr_fault *fault);

#endif
