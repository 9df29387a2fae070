/* SPDX-License-Identifier: ISC */
#include "cli/measure_report.h"

static void put_rate(struct json_writer *json, const char *key, double bytes_per_s)
{
    if (bytes_per_s > 0)
        json_decimal(json, key, bytes_per_s / 1e6, 3);
    else
        json_null(json, key);
}

static void put_cost(struct json_writer *json, double file_s)
{
    if (file_s > 0)
        json_decimal(json, "file_cost_ms", 1e3 * file_s, 4);
    else
        json_null(json, "file_cost_ms");
}

static void put_measured(struct json_writer *json, const char *key, const struct hr_measured *measured)
{
    put_rate(json, key, measured->is_cache ? 0 : measured->speed.bytes_per_s);
}

static void put_direction(struct json_writer *json, const struct hr_measurement *measurement,
                          enum hr_direction direction)
{
    const struct hr_measured *measured = &measurement->directions[direction];
    double ceiling = measurement->link.ceiling_bytes_per_s;
    if (measured->bytes == 0)
        return;
    json_open(json, NULL, '{');
    json_text(json, "direction", hr_direction_name(direction));
    put_rate(json, "MB_s", measured->speed.bytes_per_s);
    json_bool(json, "is_cache", measured->is_cache);
    put_cost(json, measured->speed.file_s);
    put_rate(json, "slowest_second_MB_s", measured->slowest_second_bytes_per_s);
    json_decimal(json, "spread", measured->spread, 4);
    if (ceiling > 0)
        json_decimal(json, "share_of_link", measured->speed.bytes_per_s / ceiling, 4);
    else
        json_null(json, "share_of_link");
    json_number(json, "bytes", measured->bytes);
    json_decimal(json, "seconds", measured->seconds, 3);
    json_close(json);
}

static void put_sustained(struct json_writer *json, const struct hr_speed *write)
{
    if (write->slow_bytes_per_s > 0)
        json_number(json, "fast_cache_bytes", (uint64_t)write->fast_bytes);
    else
        json_null(json, "fast_cache_bytes");
    put_rate(json, "sustained_MB_s", write->slow_bytes_per_s);
}

void measure_json(struct json_writer *json, const struct measure_row *row)
{
    const struct hr_measurement *measurement = row->measurement;
    const struct hr_measured *directions = measurement->directions;
    struct hr_measured read = measure_copy_from(row);
    json_text(json, "device", measurement->device);
    json_text(json, "device_name", measurement->device_name);
    json_bool(json, "is_card", row->is_card);
    if (*measurement->link.name)
        json_text(json, "link", measurement->link.name);
    else
        json_null(json, "link");
    put_rate(json, "link_MB_s", measurement->link.ceiling_bytes_per_s);
    put_measured(json, "read_MB_s", &read);
    put_measured(json, "write_MB_s", &directions[HR_DIRECTION_WRITE]);
    put_measured(json, "read_back_MB_s", &directions[HR_DIRECTION_READ_BACK]);
    put_cost(json, directions[HR_DIRECTION_READ].speed.file_s + directions[HR_DIRECTION_WRITE].speed.file_s +
                       directions[HR_DIRECTION_READ_BACK].speed.file_s);
    put_sustained(json, &directions[HR_DIRECTION_WRITE].speed);
    if (measurement->together > 0)
        json_decimal(json, "together", measurement->together, 3);
    else
        json_null(json, "together");
    json_open(json, "directions", '[');
    for (int i = 0; i < HR_DIRECTION_COUNT; i++)
        put_direction(json, measurement, (enum hr_direction)i);
    json_close(json);
}
