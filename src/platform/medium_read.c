/* SPDX-License-Identifier: ISC */
#include "platform/medium_read.h"

/* *is_from_device: the kernel counted at least as many bytes as were read. */
static enum hr_status read_counted(bool *is_from_device, const struct hr_medium_read *wanted,
                                   const struct hr_file *file, struct hr_fault *fault)
{
    uint64_t before = 0, after = 0, size = 0;
    bool counts = wanted->count && hr__fetch_count_read(&before, wanted->count);
    enum hr_status status = wanted->read(wanted->context, &size, file, fault);
    *is_from_device = counts && hr__fetch_count_read(&after, wanted->count) && after - before >= size;
    return status;
}

static bool empty_cache(uint64_t *size_bytes, const struct hr_file *file)
{
    struct hr_file_facts facts;
    uint64_t resident = 0;
    hr__file_drop_cache(file);
    if (hr__file_facts(&facts, file, NULL) != HR_OK)
        return false;
    *size_bytes = facts.size_bytes;
    return hr__file_resident_bytes(&resident, file, facts.size_bytes, NULL) == HR_OK && resident == 0;
}

static enum hr_status read_evicted(enum hr_proof *proof, const struct hr_medium_read *wanted, struct hr_fault *fault)
{
    struct hr_file file;
    uint64_t size;
    bool is_from_device;
    enum hr_status status =
        hr__file_open(&file, wanted->folder, wanted->path, HR_FILE_READ, false, wanted->shown, fault);
    if (status)
        return status;
    bool was_empty = empty_cache(&size, &file);
    hr__file_will_stream(&file);
    status = read_counted(&is_from_device, wanted, &file, fault);
    if (!status && was_empty && is_from_device)
        *proof = HR_PROOF_EVICTED;
    (void)hr__file_close(&file, NULL);
    return status;
}

enum hr_status hr__medium_read(enum hr_proof *proof, const struct hr_medium_read *wanted, struct hr_fault *fault)
{
    struct hr_file file;
    bool is_from_device = false;
    *proof = HR_PROOF_CACHE;
    enum hr_status status =
        hr__file_open(&file, wanted->folder, wanted->path, HR_FILE_READ, true, wanted->shown, fault);
    if (status)
        return status;
    bool is_direct = file.direct;
    if (is_direct)
        status = read_counted(&is_from_device, wanted, &file, fault);
    (void)hr__file_close(&file, NULL);
    if (status || (is_direct && !wanted->count))
        return status;
    if (is_from_device)
        *proof = HR_PROOF_DIRECT;
    else
        status = read_evicted(proof, wanted, fault);
    return status;
}

bool hr__medium_open_to_ask(struct hr_file *file, const struct hr_medium_read *wanted)
{
    if (!wanted->count ||
        hr__file_open(file, wanted->folder, wanted->path, HR_FILE_READ, true, wanted->shown, NULL) != HR_OK)
        return false;
    if (hr__file_is_direct_for_sure(file))
        return true;
    (void)hr__file_close(file, NULL);
    return false;
}

/* The kernel counts a read when it is sent to the device, and sends it before the call returns. */
bool hr__medium_send(struct hr_async_reads *reads, const struct hr_fetch_count *count, uint64_t bytes)
{
    uint64_t before = 0, after = 0;
    bool counts = hr__fetch_count_read(&before, count);
    hr__async_reads_send(reads);
    return counts && hr__fetch_count_read(&after, count) && after - before >= bytes;
}

size_t hr__medium_room_for(uint64_t bytes)
{
    return (size_t)hr__direct_border(bytes + 1);
}
