/* SPDX-License-Identifier: ISC */
/* POSIX alone. What it cannot do says so; advice that is not taken costs time, never truth. */
#include "platform/file.h"

#include <errno.h>
#include <fcntl.h>

#include "platform/folder.h"
#include "platform/system.h"

bool hr__variant_go_direct(int descriptor)
{
    (void)descriptor;
    return false;
}

void hr__variant_leave_direct(int descriptor)
{
    (void)descriptor;
}

void hr__variant_start_writing(int descriptor, uint64_t offset, size_t size)
{
    (void)descriptor, (void)offset, (void)size;
}

int hr__variant_reading_flags(bool direct)
{
    (void)direct;
    return 0;
}

void hr__variant_keep_access_time(int descriptor)
{
    (void)descriptor;
}

int hr__variant_share(int descriptor, int source)
{
    (void)descriptor, (void)source;
    return EOPNOTSUPP;
}

bool hr__file_is_direct_for_sure(const struct hr_file *file)
{
    (void)file;
    return false;
}

void hr__file_will_stream(const struct hr_file *file)
{
    (void)posix_fadvise(file->descriptor, 0, 0, POSIX_FADV_SEQUENTIAL);
}

void hr__file_drop_cache(const struct hr_file *file)
{
    (void)posix_fadvise(file->descriptor, 0, 0, POSIX_FADV_DONTNEED);
}

enum hr_status hr__file_resident_bytes(uint64_t *out, const struct hr_file *file, uint64_t size, struct hr_fault *fault)
{
    (void)out, (void)file, (void)size, (void)fault;
    return HR_UNSUPPORTED;
}

void hr__fetch_count_open(struct hr_fetch_count *count)
{
    *count = HR_FETCH_COUNT_CLOSED;
}

void hr__fetch_count_close(struct hr_fetch_count *count)
{
    (void)count;
}

bool hr__fetch_count_read(uint64_t *out, const struct hr_fetch_count *count)
{
    (void)out, (void)count;
    return false;
}
