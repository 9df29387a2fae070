/* SPDX-License-Identifier: ISC */
#include "devices/measure_stream.h"

#include <inttypes.h>
#include <stdio.h>

#include "platform/clock.h"

enum {
    FILE_BYTES = 1 << 30,
    /* Where a write ends in memory, only what was synced has arrived: small enough for many windows on a slow drive. */
    SYNC_BYTES = 16 << 20,
    NAME_SIZE = 32
};

struct open_file {
    struct hr_file file;
    char name[NAME_SIZE];
};

static enum hr_status open_next(struct open_file *now, const struct hr_stream *stream, uint64_t at,
                                enum hr_file_use use, struct hr_fault *fault)
{
    (void)hr__file_close(&now->file, NULL);
    snprintf(now->name, sizeof now->name, "%s-%" PRIu64, stream->name, at / FILE_BYTES);
    return hr__file_open(&now->file, &stream->measuring->scratch, now->name, use, true, now->name, fault);
}

static bool has_moved(struct hr_stream *stream, size_t bytes, bool has_arrived)
{
    stream->bytes += bytes;
    return !hr__windows_moved(&stream->windows, 0, (double)bytes, has_arrived, hr__clock_now_ns()) ||
           stream->goes_on(stream->context, &stream->windows);
}

/* Writes a block; *goes_on: another may follow. Past the cache nothing is synced meanwhile: the engine's syncs go on
 * beside its writing. */
static enum hr_status write_block(bool *goes_on, struct hr_stream *stream, struct open_file *now,
                                  struct hr_fault *fault)
{
    uint64_t offset = stream->bytes % FILE_BYTES, end = offset + HR_MEASURE_WRITE_BYTES;
    enum hr_status status = offset == 0 ? open_next(now, stream, stream->bytes, HR_FILE_CREATE, fault) : HR_OK;
    if (!status)
        status = hr__file_write_at(&now->file, stream->measuring->written, HR_MEASURE_WRITE_BYTES, offset, fault);
    stream->past_cache = now->file.direct && hr__volume_is_counted(&stream->measuring->volume);
    bool is_due = end == FILE_BYTES || (!stream->past_cache && end % SYNC_BYTES == 0);
    if (is_due && !status)
        status = hr__file_sync(&now->file, fault);
    *goes_on = !status && has_moved(stream, HR_MEASURE_WRITE_BYTES, stream->past_cache || is_due);
    return status;
}

enum hr_status hr__stream_write(struct hr_stream *stream, struct hr_fault *fault)
{
    struct open_file now = {.file = HR_FILE_CLOSED};
    bool goes_on = true;
    enum hr_status status = HR_OK;
    hr__windows_start(&stream->windows, hr__clock_now_ns());
    while (!status && goes_on && stream->bytes + HR_MEASURE_WRITE_BYTES <= stream->bytes_max &&
           !hr__measuring_is_over(stream->measuring, stream->until_ns))
        status = write_block(&goes_on, stream, &now, fault);
    if (!status && now.file.descriptor >= 0)
        status = hr__file_sync(&now.file, fault);
    hr__windows_end(&stream->windows, hr__clock_now_ns());
    (void)hr__file_close(&now.file, NULL);
    return status;
}

static enum hr_status read_block(bool *goes_on, struct hr_stream *stream, struct open_file *now, struct hr_fault *fault)
{
    uint64_t at = stream->bytes % stream->bytes_max, left = stream->bytes_max - at;
    enum hr_status status = HR_OK;
    size_t got = 0, wanted = left < stream->read_bytes ? (size_t)left : stream->read_bytes;
    if (at % FILE_BYTES == 0) {
        status = open_next(now, stream, at, HR_FILE_READ, fault);
        hr__file_drop_cache(&now->file);
    }
    if (!status)
        status = hr__file_read_at(&got, &now->file, stream->measuring->read, wanted, at % FILE_BYTES, fault);
    *goes_on = !status && got == wanted && has_moved(stream, got, true) &&
               (got < left || hr__measuring_forgets(stream->measuring));
    return status;
}

enum hr_status hr__stream_read(struct hr_stream *stream, struct hr_fault *fault)
{
    struct open_file now = {.file = HR_FILE_CLOSED};
    struct hr_fetch_count count;
    uint64_t before = 0, after = 0;
    bool goes_on = stream->bytes_max > 0;
    enum hr_status status = HR_OK;
    hr__fetch_count_open(&count);
    bool is_counted = hr__volume_is_counted(&stream->measuring->volume) && hr__fetch_count_read(&before, &count);
    (void)hr__volume_drop_device_cache(&stream->measuring->volume);
    hr__windows_start(&stream->windows, hr__clock_now_ns());
    while (!status && goes_on && !hr__measuring_is_over(stream->measuring, stream->until_ns))
        status = read_block(&goes_on, stream, &now, fault);
    hr__windows_end(&stream->windows, hr__clock_now_ns());
    stream->is_from_memory =
        is_counted && hr__fetch_count_read(&after, &count) && (double)(after - before) < 0.9 * (double)stream->bytes;
    hr__fetch_count_close(&count);
    (void)hr__file_close(&now.file, NULL);
    return status;
}
