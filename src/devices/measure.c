/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/units.h"
#include "devices/device_link.h"
#include "devices/measuring.h"
#include "platform/apart.h"
#include "platform/clock.h"
#include "platform/machine.h"

static const double seconds_by_default = 4;
/* A clock and a count of bytes are not exact to the last. */
static const double above_ceiling = 1.02;

const char *hr_direction_name(enum hr_direction direction)
{
    static const char *const names[HR_DIRECTION_COUNT] = {"read", "write", "read back"};
    return names[direction];
}

int64_t hr__measuring_until(double seconds)
{
    return hr__clock_now_ns() + (int64_t)(seconds * (double)HR_NS_PER_S);
}

bool hr__measuring_is_over(const struct hr_measuring *measuring, int64_t until_ns)
{
    return hr__clock_now_ns() >= until_ns || hr_cancel_requested(measuring->cancel);
}

bool hr__measuring_forgets(const struct hr_measuring *measuring)
{
    return hr__volume_is_counted(&measuring->volume) || hr__volume_drop_device_cache(&measuring->volume);
}

void hr__measuring_tell(const struct hr_measuring *measuring, enum hr_direction direction,
                        const struct hr_windows *windows)
{
    const struct hr_measure_options *options = measuring->options;
    if (!options->progress || windows->count == 0)
        return;
    const struct hr_speed_sample *last = &windows->windows[windows->count - 1];
    double bytes = 0;
    for (size_t i = 0; i < windows->count; i++)
        bytes += windows->windows[i].bytes;
    options->progress(options->context, direction, last->bytes / last->seconds, (uint64_t)bytes);
}

enum hr_status hr__measuring_take(struct hr_measuring *measuring, enum hr_direction direction,
                                  const struct hr_windows *windows, bool from_memory, struct hr_fault *fault)
{
    struct hr_measured *measured = &measuring->out->directions[direction];
    double ceiling = measuring->out->link.ceiling_bytes_per_s;
    if (windows->is_broken)
        return hr__fault_nomem(fault, "a measurement");
    hr__windows_measure(measured, windows);
    measured->is_cache = from_memory || measuring->volume.is_in_memory ||
                         (ceiling > 0 && measured->speed.bytes_per_s > above_ceiling * ceiling);
    return HR_OK;
}

/* Random, so that no drive or filesystem makes less of it (xorshift64, Marsaglia 2003). */
static void fill(unsigned char *bytes, size_t size)
{
    uint64_t state = UINT64_C(88172645463325252);
    for (size_t i = 0; i + sizeof state <= size; i += sizeof state) {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        memcpy(bytes + i, &state, sizeof state);
    }
}

static enum hr_status prepare(struct hr_measuring *measuring, const char *path, struct hr_fault *fault)
{
    struct hr_measurement *out = measuring->out;
    enum hr_status status = hr__path_resolve(&out->path, path, fault);
    if (!status)
        status = hr__volume_of(&measuring->volume, out->path, &hr__system_roots, fault);
    if (status)
        return status;
    const struct hr_volume *volume = &measuring->volume;
    hr__volume_link(&out->link, volume);
    char *disks = hr__disks_text(volume);
    out->device = disks ? strdup(hr__volume_device(volume, disks)) : NULL;
    free(disks);
    out->device_name = strdup(volume->disk_count ? volume->disks[0].name : volume->source);
    measuring->written = hr__aligned_alloc(HR_MEASURE_WRITE_BYTES);
    measuring->read = hr__aligned_alloc(HR_MEASURE_READ_BYTES);
    if (!out->device || !out->device_name || !measuring->written || !measuring->read)
        return hr__fault_nomem(fault, "a measurement");
    fill(measuring->written, HR_MEASURE_WRITE_BYTES);
    return HR_OK;
}

/* Writing on until a fast cache ends has that limit for itself. */
static double seconds_of(const struct hr_measure_options *options)
{
    return options->seconds_max > 0 && !options->is_sustained ? options->seconds_max : seconds_by_default;
}

enum hr_status hr_measure(struct hr_measurement **out, const char *path, const struct hr_measure_options *options,
                          const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_measuring measuring = {.options = options,
                                     .cancel = cancel,
                                     .out = calloc(1, sizeof *measuring.out),
                                     .scratch = HR_FOLDER_CLOSED,
                                     .seconds = seconds_of(options)};
    enum hr_status status = measuring.out ? prepare(&measuring, path, fault) : hr__fault_nomem(fault, "a measurement");
    if (!status)
        status = options->is_card ? hr__measure_card(&measuring, fault) : hr__measure_drive(&measuring, fault);
    if (!status && hr_cancel_requested(cancel))
        status = hr__fault_set(fault, HR_CANCELLED, 0, "stopped before it was measured");
    hr__volume_finish(&measuring.volume);
    hr__aligned_free(measuring.written);
    hr__aligned_free(measuring.read);
    if (status)
        hr_measurement_destroy(measuring.out);
    else
        *out = measuring.out;
    return status;
}

bool hr_path_has_dcim(const char *path)
{
    struct hr_folder folder = HR_FOLDER_CLOSED;
    struct hr_file_facts facts = {0};
    bool has_dcim = hr__folder_open(&folder, path, NULL) == HR_OK &&
                    hr__folder_facts(&facts, &folder, "DCIM", NULL) == HR_OK && facts.is_folder;
    hr__folder_close(&folder);
    return has_dcim;
}

void hr_measurement_destroy(struct hr_measurement *measurement)
{
    if (!measurement)
        return;
    free(measurement->path);
    free(measurement->device);
    free(measurement->device_name);
    free(measurement);
}
