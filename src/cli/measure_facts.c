/* SPDX-License-Identifier: ISC */
#include "cli/measure_report.h"

static struct hr_measured unless_cache(const struct measure_row *row, enum hr_direction direction)
{
    const struct hr_measured *measured = &row->measurement->directions[direction];
    return measured->is_cache ? (struct hr_measured){0} : *measured;
}

struct hr_measured measure_copy_from(const struct measure_row *row)
{
    return unless_cache(row, row->is_card ? HR_DIRECTION_READ : HR_DIRECTION_READ_BACK);
}

struct hr_measured measure_copy_to(const struct measure_row *row)
{
    return unless_cache(row, HR_DIRECTION_WRITE);
}

double measure_sustained(const struct hr_measured *measured)
{
    return measured->speed.slow_bytes_per_s > 0 ? measured->speed.slow_bytes_per_s : measured->speed.bytes_per_s;
}
