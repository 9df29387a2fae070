/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include <headrace/card.h>

#include "base/fault.h"
#include "base/units.h"
#include "devices/measuring.h"
#include "platform/clock.h"

enum {
    SMALL_BELOW_BYTES = 1 << 20,
    PART_BYTES = 32 << 20, /* of a file are enough: the next is elsewhere on the card */
    SMALL_IN_A_ROW = 64,   /* beside each other on the card, as they are when it is read whole; then elsewhere */
};
static const int64_t window_ns = HR_NS_PER_S / 5;
/* Of the time, for the large files; the rest is for the small ones. */
static const double large_share = 0.6;

/* Files of one kind, by their place in the inventory, and which are read next: rows of neighbours, each elsewhere than
 * the row before. */
struct lot {
    const struct hr_card_file **files;
    size_t count, row_files, row_count, stride;
    size_t row, in_row, read;
    struct hr_windows windows;
};

struct card_reading {
    struct hr_measuring *measuring;
    struct hr_folder root;
    struct lot large, small;
    uint64_t bytes;
};

static size_t common_divisor(size_t a, size_t b)
{
    return b == 0 ? a : common_divisor(b, a % b);
}

/* A step of 0.618 of the rows (the golden section), without a divisor in common with them: wherever reading ends, what
 * was read lies evenly over the card, and no row comes twice before all came once. */
static size_t stride_of(size_t count)
{
    size_t stride = (size_t)(0.618034 * (double)count) + 1;
    while (common_divisor(stride, count) != 1)
        stride++;
    return stride;
}

static bool collect(struct lot *lot, const struct hr_inventory *inventory, uint64_t from_bytes, uint64_t below_bytes,
                    size_t row_files)
{
    lot->files = malloc((inventory->file_count + 1) * sizeof *lot->files);
    for (size_t i = 0; i < inventory->file_count && lot->files; i++) {
        const struct hr_card_file *file = &inventory->files[i];
        if (file->size_bytes >= from_bytes && file->size_bytes < below_bytes)
            lot->files[lot->count++] = file;
    }
    lot->row_files = row_files;
    lot->row_count = (lot->count + row_files - 1) / row_files;
    lot->stride = lot->count ? stride_of(lot->row_count) : 0;
    return lot->files != NULL;
}

static const struct hr_card_file *next_of(struct lot *lot)
{
    size_t next = lot->row * lot->row_files + lot->in_row++;
    if (lot->in_row == lot->row_files || next + 1 == lot->count) {
        lot->row = (lot->row + lot->stride) % lot->row_count;
        lot->in_row = 0;
    }
    lot->read++;
    return lot->files[next];
}

/* As the engine reads a card: through the page cache, which is asked to forget the file before. */
static enum hr_status read_part(struct card_reading *reading, struct lot *lot, struct hr_fault *fault)
{
    const char *path = next_of(lot)->path;
    struct hr_file file;
    uint64_t offset = 0;
    size_t got = HR_MEASURE_WRITE_BYTES;
    enum hr_status status = hr__file_open(&file, &reading->root, path, HR_FILE_READ, false, path, fault);
    if (status)
        return status;
    hr__file_drop_cache(&file);
    hr__file_will_stream(&file);
    while (!status && got == HR_MEASURE_WRITE_BYTES && offset < PART_BYTES) {
        status = hr__file_read_at(&got, &file, reading->measuring->read, HR_MEASURE_WRITE_BYTES, offset, fault);
        offset += got;
        if (!status && hr__windows_moved(&lot->windows, 0, (double)got, true, hr__clock_now_ns()))
            hr__measuring_tell(reading->measuring, HR_DIRECTION_READ, &lot->windows);
    }
    (void)hr__file_close(&file, NULL);
    (void)hr__windows_moved(&lot->windows, 1, 0, true, hr__clock_now_ns());
    reading->bytes += offset;
    return status;
}

/* Reads files of the lot until the time is up, some a second time where memory can be made to forget the first. Large
 * and small ones are not read in turn: what a device takes on credit while it waits for small files would be put down
 * to the large ones. */
static enum hr_status read_lot(struct card_reading *reading, struct lot *lot, double seconds, struct hr_fault *fault)
{
    int64_t until_ns = hr__measuring_until(seconds);
    enum hr_status status = HR_OK;
    hr__windows_start(&lot->windows, hr__clock_now_ns());
    while (!status && lot->count && (lot->read < lot->count || hr__measuring_forgets(reading->measuring)) &&
           !hr__measuring_is_over(reading->measuring, until_ns))
        status = read_part(reading, lot, fault);
    hr__windows_end(&lot->windows, hr__clock_now_ns());
    return status;
}

static enum hr_status read_lots(struct card_reading *reading, struct hr_fault *fault)
{
    double share = reading->small.count == 0 ? 1 : reading->large.count == 0 ? 0 : large_share;
    double seconds = reading->measuring->seconds;
    enum hr_status status = read_lot(reading, &reading->large, share * seconds, fault);
    return status ? status : read_lot(reading, &reading->small, (1 - share) * seconds, fault);
}

static enum hr_status take(struct card_reading *reading, bool is_from_memory, struct hr_fault *fault)
{
    struct hr_measuring *measuring = reading->measuring;
    const struct lot *large = &reading->large, *small = &reading->small;
    const struct lot *steady = large->count ? large : small;
    enum hr_status status = hr__measuring_take(measuring, HR_DIRECTION_READ, &steady->windows, is_from_memory, fault);
    if (!status)
        hr__windows_tell_apart(&measuring->out->directions[HR_DIRECTION_READ].speed, &large->windows, &small->windows);
    return status;
}

static enum hr_status read_all(struct card_reading *reading, struct hr_fault *fault)
{
    struct hr_fetch_count count;
    uint64_t before = 0, after = 0;
    const struct hr_volume *volume = &reading->measuring->volume;
    hr__fetch_count_open(&count);
    bool is_counted = hr__volume_is_counted(volume) && hr__fetch_count_read(&before, &count);
    (void)hr__volume_drop_device_cache(volume);
    enum hr_status status = read_lots(reading, fault);
    bool is_from_memory =
        is_counted && hr__fetch_count_read(&after, &count) && (double)(after - before) < 0.9 * (double)reading->bytes;
    hr__fetch_count_close(&count);
    return status ? status : take(reading, is_from_memory, fault);
}

static enum hr_status read_inventory(struct hr_measuring *measuring, const struct hr_inventory *inventory,
                                     struct hr_fault *fault)
{
    struct card_reading reading = {.measuring = measuring,
                                   .root = HR_FOLDER_CLOSED,
                                   .large.windows.least_ns = window_ns,
                                   .small.windows.least_ns = window_ns};
    enum hr_status status = hr__folder_open(&reading.root, measuring->out->path, fault);
    bool are_collected = collect(&reading.large, inventory, SMALL_BELOW_BYTES, UINT64_MAX, 1) &&
                         collect(&reading.small, inventory, 1, SMALL_BELOW_BYTES, SMALL_IN_A_ROW);
    if (!status && !are_collected)
        status = hr__fault_nomem(fault, "the files of a card");
    if (!status && reading.large.count + reading.small.count == 0)
        status = hr__fault_path(fault, HR_NOT_FOUND, 0, "no file to read on", measuring->out->path);
    if (!status)
        status = read_all(&reading, fault);
    hr__folder_close(&reading.root);
    hr__windows_finish(&reading.large.windows);
    hr__windows_finish(&reading.small.windows);
    free(reading.large.files);
    free(reading.small.files);
    return status;
}

enum hr_status hr__measure_card(struct hr_measuring *measuring, struct hr_fault *fault)
{
    struct hr_card *card = NULL;
    struct hr_inventory *inventory = NULL;
    enum hr_status status = hr_card_open(&card, measuring->out->path, fault);
    if (!status && hr_card_is_archive(card))
        status = hr__fault_path(fault, HR_UNSUPPORTED, 0, "an archive is no card to measure:", measuring->out->path);
    if (!status)
        status = hr_inventory_create(&inventory, card, measuring->cancel, fault);
    if (!status)
        status = read_inventory(measuring, inventory, fault);
    hr_inventory_destroy(inventory);
    hr_card_close(card);
    return status;
}
