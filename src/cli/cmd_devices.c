/* SPDX-License-Identifier: ISC */
#include <headrace/devices.h>
#include <headrace/ledger.h>

#include "cli/cli.h"
#include "cli/devices_report.h"

struct devices_settings {
    struct cli_common common;
};

static const struct cli_option options[] = {
    CLI_LEDGER_OPTION(struct devices_settings),
    CLI_COMMON_OPTIONS(struct devices_settings),
};

/* Without a ledger nothing was measured yet, unless one was named. False, and it was said, when one cannot be read. */
static bool open_ledger(struct hr_ledger **ledger, const char *path)
{
    struct hr_fault fault = {0};
    enum hr_status status = hr_ledger_open_read_only(ledger, path, &fault);
    bool is_fine = status == HR_OK || (status == HR_NOT_FOUND && !path);
    if (!is_fine)
        cli_complain("%s", fault.text);
    return is_fine;
}

static void begin(const struct cli_call *call, struct json_writer *json)
{
    json_start(json, call->out, true);
    if (!call->common->json)
        return;
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "devices");
    json_open(json, "devices", '[');
}

static void end(const struct cli_call *call, struct json_writer *json, size_t shown)
{
    if (call->common->json) {
        json_close(json);
        json_close(json);
        json_end(json);
    } else if (shown == 0) {
        cli_output_append(call->out, "no card, reader or drive is plugged in\n");
    }
}

/* A ledger that fails takes the measured speeds away, no more. */
static bool show(const struct cli_call *call, const struct hr_devices *devices, struct hr_ledger *ledger)
{
    struct json_writer json;
    struct hr_fault fault = {0};
    bool is_read = true;
    begin(call, &json);
    for (size_t i = 0; i < devices->device_count; i++) {
        const struct hr_device *device = &devices->devices[i];
        struct devices_speeds speeds;
        is_read = devices_speeds_find(&speeds, ledger, device, &fault) == HR_OK && is_read;
        if (call->common->json)
            devices_json(&json, device, &speeds);
        else
            devices_text(call->out, device, &speeds, call->common->quiet);
    }
    end(call, &json, devices->device_count);
    if (!is_read)
        cli_complain("%s", fault.text);
    return is_read;
}

static enum cli_exit run(const struct cli_call *call)
{
    struct hr_fault fault = {0};
    struct hr_devices *devices = NULL;
    struct hr_ledger *ledger = NULL;
    if (hr_devices_create(&devices, NULL, &fault) != HR_OK) {
        cli_complain("%s", fault.text);
        return CLI_FAILED;
    }
    bool is_read = open_ledger(&ledger, call->common->ledger);
    bool is_shown = show(call, devices, ledger);
    hr_ledger_close(ledger);
    hr_devices_destroy(devices);
    return is_read && is_shown ? CLI_DONE : CLI_FAILED;
}

const struct cli_command cli_devices = {
    .name = "devices",
    .summary = "cards, readers and drives, how fast each can be, what slows it",
    .about = "Shows each card, reader and drive that is plugged in: where it is mounted, the\n"
             "link it negotiated, what that carries at most, what was measured, and what\n"
             "holds it back.",
    .usage = "[--json]",
    .examples = "  headrace devices\n"
                "  headrace devices --json\n",
    .options = options,
    .option_count = sizeof options / sizeof *options,
    .settings_size = sizeof(struct devices_settings),
    .run = run,
};
