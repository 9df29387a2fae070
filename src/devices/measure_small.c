/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "devices/measuring.h"
#include "platform/clock.h"

/* A batch is the engine's, where nothing waits for the end of writing. */
enum { SMALL_BYTES = 32 << 10, BATCH_FILES = 1024, FILES_MAX = 4096, NAME_SIZE = 16 };

/* Of the time for a direction. */
static const double seconds_share = 0.35;

struct batch {
    struct hr_measuring *measuring;
    bool syncs_each_file;
    size_t files; /* written so far, or read */
};

static enum hr_status write_one(struct batch *batch, struct hr_fault *fault)
{
    char name[NAME_SIZE];
    struct hr_file file;
    snprintf(name, sizeof name, "small-%zu", batch->files);
    enum hr_status status = hr__file_open(&file, &batch->measuring->scratch, name, HR_FILE_CREATE, false, name, fault);
    if (status)
        return status;
    status = hr__file_write_at(&file, batch->measuring->written, SMALL_BYTES, 0, fault);
    if (!status)
        status = hr__file_set_modified(&file, hr__clock_wall_ns(), fault);
    if (!status && batch->syncs_each_file)
        status = hr__file_sync(&file, fault);
    enum hr_status closed = hr__file_close(&file, fault);
    return status ? status : closed;
}

/* Renamed as well, which the engine does with a copy that is right. */
static enum hr_status read_one(struct batch *batch, struct hr_fault *fault)
{
    char name[NAME_SIZE], right[NAME_SIZE];
    struct hr_file file;
    size_t got = 0;
    snprintf(name, sizeof name, "small-%zu", batch->files);
    snprintf(right, sizeof right, "right-%zu", batch->files);
    enum hr_status status = hr__file_open(&file, &batch->measuring->scratch, name, HR_FILE_READ, true, name, fault);
    if (status)
        return status;
    status = hr__file_read_at(&got, &file, batch->measuring->read, SMALL_BYTES + HR_DIRECT_ALIGNMENT, 0, fault);
    (void)hr__file_close(&file, NULL);
    return status ? status : hr__folder_rename(&batch->measuring->scratch, name, right, fault);
}

static enum hr_status run_batch(struct batch *batch, enum hr_status (*one)(struct batch *batch, struct hr_fault *fault),
                                struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < BATCH_FILES && !status; i++, batch->files++)
        status = one(batch, fault);
    if (status)
        return status;
    return batch->syncs_each_file ? hr__folder_sync(&batch->measuring->scratch, "", fault)
                                  : hr__folder_sync_volume(&batch->measuring->scratch, fault);
}

/* A window is a batch, synced. *files: how many; at most as many as it was. */
static enum hr_status measure(size_t *files, struct hr_windows *windows, struct hr_measuring *measuring,
                              enum hr_status (*one)(struct batch *batch, struct hr_fault *fault),
                              struct hr_fault *fault)
{
    const struct hr_volume *volume = &measuring->volume;
    struct batch batch = {.measuring = measuring,
                          .syncs_each_file = volume->is_fuse || volume->is_network || !hr__folder_can_sync_volume()};
    int64_t until_ns = hr__measuring_until(seconds_share * measuring->seconds);
    enum hr_status status = HR_OK;
    hr__windows_start(windows, hr__clock_now_ns());
    while (!status && batch.files + BATCH_FILES <= *files && !hr__measuring_is_over(measuring, until_ns)) {
        status = run_batch(&batch, one, fault);
        (void)hr__windows_moved(windows, BATCH_FILES, BATCH_FILES * SMALL_BYTES, true, hr__clock_now_ns());
    }
    *files = batch.files;
    return status;
}

enum hr_status hr__measure_small(struct hr_windows *written, struct hr_windows *read_back,
                                 struct hr_measuring *measuring, struct hr_fault *fault)
{
    uint64_t fitting = measuring->budget_bytes / SMALL_BYTES;
    size_t files = fitting < FILES_MAX ? (size_t)fitting : FILES_MAX;
    enum hr_status status = measure(&files, written, measuring, write_one, fault);
    measuring->budget_bytes -= files * SMALL_BYTES;
    return status ? status : measure(&files, read_back, measuring, read_one, fault);
}
