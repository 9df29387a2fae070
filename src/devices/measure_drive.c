/* SPDX-License-Identifier: ISC */
#include "base/fault.h"
#include "base/units.h"
#include "devices/measure_scratch.h"
#include "devices/measure_stream.h"

enum { ROOM_LEAST_BYTES = 16 << 20, WINDOWS_A_S = 5 };

static const uint64_t bytes_by_default = 2000000000, sustained_bytes_by_default = 64000000000;
static const double sustained_seconds_by_default = 900;

/* Of what may be written, what the first stream may take: the rest is for small files and for reading beside writing.
 */
static const double stream_share = 0.6;

/* A tenth of the volume stays free. */
static enum hr_status take_budget(struct hr_measuring *measuring, struct hr_fault *fault)
{
    const struct hr_measure_options *options = measuring->options;
    uint64_t wanted = options->is_sustained ? sustained_bytes_by_default : bytes_by_default;
    uint64_t free = measuring->volume.free_bytes, kept = measuring->volume.total_bytes / 10;
    uint64_t room = free > kept ? free - kept : 0;
    if (options->bytes_max)
        wanted = options->bytes_max;
    measuring->budget_bytes = wanted < room ? wanted : room;
    if (measuring->budget_bytes >= ROOM_LEAST_BYTES)
        return HR_OK;
    return hr__fault_path(fault, HR_FULL, 0, "too little is free to measure and leave a tenth of",
                          measuring->out->path);
}

struct told {
    const struct hr_measuring *measuring;
    enum hr_direction direction;
};

static bool tell(void *context, const struct hr_windows *windows)
{
    const struct told *told = context;
    hr__measuring_tell(told->measuring, told->direction, windows);
    return true;
}

static bool tell_until_step(void *context, const struct hr_windows *windows)
{
    struct hr_rate_step step;
    tell(context, windows);
    return windows->count % WINDOWS_A_S != 0 || !hr__windows_step(&step, windows);
}

static struct hr_stream start_stream(struct hr_measuring *measuring, const char *name, struct told *told,
                                     uint64_t bytes_max, double seconds)
{
    return (struct hr_stream){.measuring = measuring,
                              .name = name,
                              .windows = {.least_ns = HR_NS_PER_S / WINDOWS_A_S},
                              .bytes_max = bytes_max,
                              .until_ns = hr__measuring_until(seconds),
                              .read_bytes = HR_MEASURE_READ_BYTES,
                              .goes_on = tell,
                              .context = told};
}

/* Large files, then small ones, each written and read back. */
struct drive_parts {
    struct hr_stream writing, reading;
    struct hr_windows small_writing, small_reading;
};

static enum hr_status run_parts(struct drive_parts *parts, struct hr_measuring *measuring, struct hr_fault *fault)
{
    struct told writing = {measuring, HR_DIRECTION_WRITE}, reading = {measuring, HR_DIRECTION_READ_BACK};
    uint64_t most = (uint64_t)(stream_share * (double)measuring->budget_bytes);
    parts->writing = start_stream(measuring, "stream", &writing, most, measuring->seconds);
    enum hr_status status = hr__stream_write(&parts->writing, fault);
    measuring->budget_bytes -= parts->writing.bytes;
    parts->reading = start_stream(measuring, "stream", &reading, parts->writing.bytes, measuring->seconds);
    if (!status)
        status = hr__stream_read(&parts->reading, fault);
    return status ? status : hr__measure_small(&parts->small_writing, &parts->small_reading, measuring, fault);
}

static enum hr_status take_parts(struct hr_measuring *measuring, const struct drive_parts *parts,
                                 struct hr_fault *fault)
{
    const struct hr_stream *writing = &parts->writing, *reading = &parts->reading;
    struct hr_measured *directions = measuring->out->directions;
    enum hr_status status = hr__measuring_take(measuring, HR_DIRECTION_WRITE, &writing->windows, false, fault);
    if (!status)
        status =
            hr__measuring_take(measuring, HR_DIRECTION_READ_BACK, &reading->windows, reading->is_from_memory, fault);
    hr__windows_tell_apart(&directions[HR_DIRECTION_WRITE].speed, &writing->windows, &parts->small_writing);
    hr__windows_tell_apart(&directions[HR_DIRECTION_READ_BACK].speed, &reading->windows, &parts->small_reading);
    return status;
}

/* Reading beside writing is of use only where writing does not end in memory. */
static enum hr_status measure_parts(struct hr_measuring *measuring, struct hr_fault *fault)
{
    struct drive_parts parts = {0};
    enum hr_status status = run_parts(&parts, measuring, fault);
    if (!status)
        status = take_parts(measuring, &parts, fault);
    if (!status && parts.writing.past_cache)
        status = hr__measure_together(measuring, parts.writing.bytes, fault);
    hr__windows_finish(&parts.writing.windows);
    hr__windows_finish(&parts.reading.windows);
    hr__windows_finish(&parts.small_writing);
    hr__windows_finish(&parts.small_reading);
    return status;
}

static void take_step(struct hr_measured *write, const struct hr_windows *windows, uint64_t bytes_before)
{
    struct hr_measured whole;
    struct hr_rate_step step;
    hr__windows_measure(&whole, windows);
    if (whole.slowest_second_bytes_per_s > 0 && (write->slowest_second_bytes_per_s <= 0 ||
                                                 whole.slowest_second_bytes_per_s < write->slowest_second_bytes_per_s))
        write->slowest_second_bytes_per_s = whole.slowest_second_bytes_per_s;
    if (!hr__windows_step(&step, windows))
        return;
    write->speed.fast_bytes = (double)bytes_before + step.fast_bytes;
    write->speed.slow_bytes_per_s = step.slow_bytes_per_s;
}

/* What was written before fills a fast cache too. */
static enum hr_status measure_sustained(struct hr_measuring *measuring, uint64_t bytes_before, struct hr_fault *fault)
{
    struct told told = {measuring, HR_DIRECTION_WRITE};
    double seconds = measuring->options->seconds_max;
    struct hr_stream stream = start_stream(measuring, "sustained", &told, measuring->budget_bytes,
                                           seconds > 0 ? seconds : sustained_seconds_by_default);
    stream.goes_on = tell_until_step;
    enum hr_status status = hr__stream_write(&stream, fault);
    if (!status)
        take_step(&measuring->out->directions[HR_DIRECTION_WRITE], &stream.windows, bytes_before);
    hr__windows_finish(&stream.windows);
    return status;
}

enum hr_status hr__measure_drive(struct hr_measuring *measuring, struct hr_fault *fault)
{
    struct hr_folder root = HR_FOLDER_CLOSED;
    enum hr_status status = hr__folder_open(&root, measuring->out->path, fault);
    if (!status)
        status = hr__scratch_open(&measuring->scratch, &root, fault);
    if (!status)
        status = take_budget(measuring, fault);
    uint64_t budget_bytes = measuring->budget_bytes;
    if (!status)
        status = measure_parts(measuring, fault);
    if (!status && measuring->options->is_sustained)
        status = measure_sustained(measuring, budget_bytes - measuring->budget_bytes, fault);
    enum hr_status removed = hr__scratch_remove(&measuring->scratch, &root, fault);
    hr__folder_close(&root);
    return status ? status : removed;
}
