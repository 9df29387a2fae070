/* SPDX-License-Identifier: ISC */
#include "cli/devices_report.h"

static const char *kind_name(enum hr_link_kind kind)
{
    static const char *const names[] = {
        [HR_LINK_UNKNOWN] = "unknown", [HR_LINK_USB] = "usb", [HR_LINK_PCIE] = "pcie",
        [HR_LINK_SATA] = "sata",       [HR_LINK_MMC] = "mmc", [HR_LINK_NETWORK] = "network",
        [HR_LINK_VIRTUAL] = "virtual"};
    return names[kind];
}

/* What is not known is 0, and null here. */
static void put_known(struct json_writer *json, const char *key, double value)
{
    if (value > 0)
        json_decimal(json, key, value, 3);
    else
        json_null(json, key);
}

static void put_link(struct json_writer *json, const struct hr_link *link)
{
    json_open(json, "link", '{');
    json_text(json, "kind", kind_name(link->kind));
    json_text(json, "name", link->name);
    put_known(json, "mbit_per_s", link->mbit_per_s);
    json_number(json, "lanes", link->lanes);
    put_known(json, "ceiling_MB_s", link->ceiling_bytes_per_s / 1e6);
    json_name(json, "port", link->identity);
    json_close(json);
}

static void put_speeds(struct json_writer *json, const struct devices_speeds *speeds)
{
    json_open(json, "measured", '{');
    put_known(json, "read_MB_s", speeds->bytes_per_s[HR_DIRECTION_READ] / 1e6);
    put_known(json, "write_MB_s", speeds->bytes_per_s[HR_DIRECTION_WRITE] / 1e6);
    put_known(json, "read_back_MB_s", speeds->bytes_per_s[HR_DIRECTION_READ_BACK] / 1e6);
    json_close(json);
}

void devices_json(struct json_writer *json, const struct hr_device *device, const struct devices_speeds *speeds)
{
    json_open(json, NULL, '{');
    json_name(json, "name", device->name);
    json_name(json, "identity", device->identity);
    json_name(json, "model", device->model);
    json_lines(json, "mount_points", device->mount_points);
    json_number(json, "size_bytes", device->size_bytes);
    json_bool(json, "is_removable", device->is_removable);
    json_bool(json, "is_rotational", device->is_rotational);
    put_link(json, &device->link);
    put_known(json, "ceiling_MB_s", device->ceiling_bytes_per_s / 1e6);
    json_text(json, "card_class", device->card_class);
    put_known(json, "class_MB_s", device->class_bytes_per_s / 1e6);
    put_speeds(json, speeds);
    json_open(json, "warnings", '[');
    for (size_t i = 0; i < device->warning_count; i++)
        json_text(json, NULL, device->warnings[i]);
    json_close(json);
    json_close(json);
}
