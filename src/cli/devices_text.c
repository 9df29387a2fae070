/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include "base/units.h"
#include "cli/devices_report.h"

enum { MOUNTS_SHOWN = 2, LEFT_COLUMN = 10 };

static void put_mount_points(struct cli_output *out, const struct hr_device *device)
{
    const char *lines = device->mount_points;
    size_t shown = 0, hidden = 0;
    for (size_t size; (size = strcspn(lines, "\n")) > 0; lines += size + (lines[size] == '\n')) {
        hidden += shown == MOUNTS_SHOWN;
        if (shown == MOUNTS_SHOWN)
            continue;
        cli_output_append(out, shown++ ? ", " : "");
        cli_output_name_bytes(out, lines, size);
    }
    if (hidden)
        cli_output_printf(out, " and %zu more", hidden);
    if (!shown)
        cli_output_painted(out, CLI_FAINT, device->size_bytes ? "not mounted" : "no card in it");
}

static void put_heading(struct cli_output *out, const struct hr_device *device)
{
    char rate[HR_UNIT_TEXT_SIZE], shown[HR_UNIT_TEXT_SIZE + sizeof " at most"] = "limit unknown", name[80];
    if (device->ceiling_bytes_per_s > 0)
        snprintf(shown, sizeof shown, "%s at most", hr__format_rate(rate, device->ceiling_bytes_per_s));
    snprintf(name, sizeof name, "%-*s", LEFT_COLUMN, device->name);
    cli_output_painted(out, CLI_STRONG, name);
    cli_output_printf(out, "%-18s  ", shown);
    put_mount_points(out, device);
    cli_output_append(out, "\n");
}

static void put_facts(struct cli_output *out, const struct hr_device *device)
{
    char size[HR_UNIT_TEXT_SIZE];
    cli_output_printf(out, "%*s%s", LEFT_COLUMN, "", device->link.name);
    if (device->size_bytes)
        cli_output_printf(out, ", %s", hr__format_bytes(size, device->size_bytes));
    if (*device->card_class)
        cli_output_printf(out, ", class %s", device->card_class);
    if (*device->model) {
        cli_output_append(out, ", ");
        cli_output_name(out, device->model);
    }
    cli_output_append(out, "\n");
}

static void put_speeds(struct cli_output *out, const struct devices_speeds *speeds)
{
    char rate[HR_UNIT_TEXT_SIZE];
    bool any = false;
    for (int i = 0; i < HR_DIRECTION_COUNT; i++) {
        if (speeds->bytes_per_s[i] <= 0)
            continue;
        if (any)
            cli_output_append(out, ", ");
        else
            cli_output_printf(out, "%*smeasured ", LEFT_COLUMN, "");
        cli_output_printf(out, "%s %s", hr__format_rate(rate, speeds->bytes_per_s[i]),
                          hr_direction_name((enum hr_direction)i));
        any = true;
    }
    cli_output_append(out, any ? "\n" : "");
}

void devices_text(struct cli_output *out, const struct hr_device *device, const struct devices_speeds *speeds,
                  bool is_quiet)
{
    put_heading(out, device);
    if (!is_quiet) {
        put_facts(out, device);
        put_speeds(out, speeds);
    }
    for (size_t i = 0; i < device->warning_count; i++) {
        cli_output_append(out, "  ");
        cli_output_painted(out, CLI_BAD, "! ");
        cli_output_printf(out, "%s\n", device->warnings[i]);
    }
}
