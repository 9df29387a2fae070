/* SPDX-License-Identifier: ISC */
/* A stream of bytes written to, or read from, files of 1 GiB in the folder of a measurement, one after the other.
 *
 * Zeroed but for the fields of the first group; hr__windows_finish(&stream.windows) in the end. Both calls go on until
 * time, bytes or `goes_on` end them, or the caller cancels, which is no failure here. */
#ifndef HR_DEVICES_MEASURE_STREAM_H
#define HR_DEVICES_MEASURE_STREAM_H

#include "devices/measuring.h"

struct hr_stream {
    struct hr_measuring *measuring;
    const char *name; /* of its files, with their number behind */
    struct hr_windows windows;
    uint64_t bytes_max;
    int64_t until_ns;
    size_t read_bytes;                                                /* at once */
    bool (*goes_on)(void *context, const struct hr_windows *windows); /* asked after each window */
    void *context;

    uint64_t bytes;      /* moved so far */
    bool past_cache;     /* writing: each block was on the device before the next began */
    bool is_from_memory; /* reading: the device was seen to give less than was read */
};

HR_MUST_USE enum hr_status hr__stream_write(struct hr_stream *stream, struct hr_fault *fault);
/* `bytes_max` are known to stand there; behind them it begins anew where memory can be made to forget them. */
HR_MUST_USE enum hr_status hr__stream_read(struct hr_stream *stream, struct hr_fault *fault);

#endif
