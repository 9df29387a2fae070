/* SPDX-License-Identifier: ISC */
#include <headrace/devices.h>
#include <headrace/ledger.h>

#include "platform/clock.h"

static enum hr_status note(struct hr_ledger *ledger, const struct hr_measurement *measurement,
                           enum hr_direction direction, struct hr_fault *fault)
{
    const struct hr_measured *measured = &measurement->directions[direction];
    struct hr_ledger_speed speed = {.device = measurement->device,
                                    .link = measurement->link.identity,
                                    .direction = hr_direction_name(direction),
                                    .source = "measure",
                                    .at_wall_ns = hr__clock_wall_ns(),
                                    .bytes = measured->bytes,
                                    .bytes_per_s = measured->speed.bytes_per_s,
                                    .file_s = measured->speed.file_s,
                                    .fast_bytes = measured->speed.fast_bytes,
                                    .slow_bytes_per_s = measured->speed.slow_bytes_per_s,
                                    .together = measurement->together};
    return measured->bytes == 0 || measured->is_cache ? HR_OK : hr_ledger_add_speed(ledger, &speed, fault);
}

enum hr_status hr_measurement_note(const struct hr_measurement *measurement, const char *ledger_path,
                                   struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    if (!*measurement->device)
        return HR_OK;
    enum hr_status status = hr_ledger_open(&ledger, ledger_path, fault);
    if (!status)
        status = hr_ledger_begin(ledger, fault);
    if (!status) {
        for (int i = 0; i < HR_DIRECTION_COUNT && !status; i++)
            status = note(ledger, measurement, (enum hr_direction)i, fault);
        enum hr_status kept = hr_ledger_commit(ledger, status ? NULL : fault);
        status = status ? status : kept;
    }
    hr_ledger_close(ledger);
    return status;
}
