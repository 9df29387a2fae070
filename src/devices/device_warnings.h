/* SPDX-License-Identifier: ISC */
/* What holds a device back, in plain sentences. */
#ifndef HR_DEVICES_DEVICE_WARNINGS_H
#define HR_DEVICES_DEVICE_WARNINGS_H

#include <headrace/devices.h>

#include "platform/plugged.h"

/* Adds to devices[i], made from disks[i], what is to be said of it by itself and beside the others. False: no memory.
 */
bool hr__device_warnings(struct hr_device *devices, const struct hr_plugged *disks, size_t count);

#endif
