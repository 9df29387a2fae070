/* SPDX-License-Identifier: ISC */
#include <stdatomic.h>

#include "base/fault.h"
#include "base/units.h"
#include "devices/measure_stream.h"
#include "platform/thread.h"

/* Of the time for a direction. */
static const double seconds_share = 0.5;

struct writer {
    struct hr_stream stream;
    atomic_bool has_ended;
    enum hr_status status;
    struct hr_fault fault;
};

static void write_beside(void *argument)
{
    struct writer *writer = argument;
    writer->status = hr__stream_write(&writer->stream, &writer->fault);
    atomic_store(&writer->has_ended, true);
}

static bool always(void *context, const struct hr_windows *windows)
{
    (void)context, (void)windows;
    return true;
}

static bool while_writing(void *context, const struct hr_windows *windows)
{
    (void)windows;
    return !atomic_load(&((struct writer *)context)->has_ended);
}

static double share_of(const struct hr_measured *alone, const struct hr_windows *windows)
{
    struct hr_measured beside;
    hr__windows_measure(&beside, windows);
    return alone->speed.bytes_per_s > 0 ? beside.speed.bytes_per_s / alone->speed.bytes_per_s : 0;
}

static void take(struct hr_measurement *out, const struct hr_stream *reading, const struct hr_stream *writing)
{
    if (reading->windows.count < 2 || writing->windows.count < 2 || reading->is_from_memory)
        return;
    double shares = share_of(&out->directions[HR_DIRECTION_READ_BACK], &reading->windows) +
                    share_of(&out->directions[HR_DIRECTION_WRITE], &writing->windows);
    out->together = shares < 2 ? shares : 2; /* neither can be faster than alone */
}

enum hr_status hr__measure_together(struct hr_measuring *measuring, uint64_t written_bytes, struct hr_fault *fault)
{
    const int64_t window_ns = HR_NS_PER_S / 10, until_ns = hr__measuring_until(seconds_share * measuring->seconds);
    /* Writing on until a fast cache ends comes later. */
    uint64_t budget_bytes = measuring->options->is_sustained ? measuring->budget_bytes / 2 : measuring->budget_bytes;
    struct writer writer = {.stream = {.measuring = measuring,
                                       .name = "beside",
                                       .windows = {.least_ns = window_ns},
                                       .bytes_max = budget_bytes,
                                       .until_ns = until_ns,
                                       .goes_on = always}};
    struct hr_stream reading = {.measuring = measuring,
                                .name = "stream",
                                .windows = {.least_ns = window_ns},
                                .bytes_max = written_bytes,
                                .until_ns = until_ns,
                                .read_bytes = HR_MEASURE_WRITE_BYTES, /* as the engine: else reading gets more */
                                .goes_on = while_writing,
                                .context = &writer};
    struct hr_thread thread = {0};
    enum hr_status status = hr__thread_start(&thread, "measure", write_beside, &writer, fault);
    if (!status)
        status = hr__stream_read(&reading, fault);
    hr__thread_join(&thread);
    measuring->budget_bytes -= writer.stream.bytes;
    if (!status && writer.status)
        status = hr__fault_set(fault, writer.status, 0, "%s", writer.fault.text);
    if (!status)
        take(measuring->out, &reading, &writer.stream);
    hr__windows_finish(&reading.windows);
    hr__windows_finish(&writer.stream.windows);
    return status;
}
