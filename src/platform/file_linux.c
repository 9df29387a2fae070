/* SPDX-License-Identifier: ISC */
#include "platform/file.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/fs.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <unistd.h>

#include "base/checked.h"
#include "platform/system.h"

static bool add_flag(int descriptor, int flag)
{
    int flags = fcntl(descriptor, F_GETFL);
    return flags >= 0 && fcntl(descriptor, F_SETFL, flags | flag) == 0;
}

/* Set after the open: with O_CREAT a refused O_DIRECT would leave a new, empty file behind. */
bool hr__variant_go_direct(int descriptor)
{
    return add_flag(descriptor, O_DIRECT);
}

/* A flag that was set can be taken back: a failure would show in the write that follows. */
void hr__variant_leave_direct(int descriptor)
{
    (void)fcntl(descriptor, F_SETFL, fcntl(descriptor, F_GETFL) & ~O_DIRECT);
}

void hr__variant_start_writing(int descriptor, uint64_t offset, size_t size)
{
    (void)sync_file_range(descriptor, (off_t)offset, (off_t)size, SYNC_FILE_RANGE_WRITE);
}

int hr__variant_reading_flags(bool direct)
{
    return O_NOATIME | (direct ? O_DIRECT : 0);
}

/* Only the owner may ask for this; for all others the mount's own rule (relatime) holds. */
void hr__variant_keep_access_time(int descriptor)
{
    (void)add_flag(descriptor, O_NOATIME);
}

/* ENOTTY: FUSE without it; EINVAL: a filesystem with it, but not for this file; EXDEV: of another. */
int hr__variant_share(int descriptor, int source)
{
    int error = ioctl(descriptor, FICLONE, source) == 0 ? 0 : errno;
    return error == ENOTTY || error == EINVAL || error == EXDEV || error == ENOSYS ? EOPNOTSUPP : error;
}

bool hr__file_is_direct_for_sure(const struct hr_file *file)
{
    struct statx facts;
    return file->direct && statx(file->descriptor, "", AT_EMPTY_PATH, STATX_DIOALIGN, &facts) == 0 &&
           (facts.stx_mask & STATX_DIOALIGN) && facts.stx_dio_offset_align > 0;
}

void hr__file_will_stream(const struct hr_file *file)
{
    (void)posix_fadvise(file->descriptor, 0, 0, POSIX_FADV_SEQUENTIAL);
}

void hr__file_drop_cache(const struct hr_file *file)
{
    (void)posix_fadvise(file->descriptor, 0, 0, POSIX_FADV_DONTNEED);
}

enum { WINDOW_PAGES = 16384 };

static bool count_window(uint64_t *pages, const struct hr_file *file, uint64_t offset, size_t size, size_t page_size)
{
    unsigned char states[WINDOW_PAGES];
    void *memory = mmap(NULL, size, PROT_READ, MAP_SHARED, file->descriptor, (off_t)offset);
    if (memory == MAP_FAILED)
        return false;
    bool told = mincore(memory, size, states) == 0;
    for (size_t i = 0; told && i * page_size < size; i++)
        *pages += states[i] & 1;
    munmap(memory, size);
    return told;
}

/* Not cachestat(2): on an overlay it answers 0 for a file that stands in memory whole, since it looks at the wrong
 * inode. */
enum hr_status hr__file_resident_bytes(uint64_t *out, const struct hr_file *file, uint64_t size, struct hr_fault *fault)
{
    (void)fault;
    size_t page_size = (size_t)sysconf(_SC_PAGESIZE);
    uint64_t pages = 0, window = WINDOW_PAGES * (uint64_t)page_size;
    for (uint64_t offset = 0; offset < size; offset += window) {
        uint64_t left = size - offset;
        if (!count_window(&pages, file, offset, (size_t)(left < window ? left : window), page_size))
            return HR_UNSUPPORTED;
    }
    *out = pages * page_size < size ? pages * page_size : size;
    return HR_OK;
}

void hr__fetch_count_open(struct hr_fetch_count *count)
{
    count->descriptor = open("/proc/thread-self/io", O_RDONLY | O_CLOEXEC);
}

void hr__fetch_count_close(struct hr_fetch_count *count)
{
    if (count->descriptor >= 0)
        close(count->descriptor);
    *count = HR_FETCH_COUNT_CLOSED;
}

bool hr__fetch_count_read(uint64_t *out, const struct hr_fetch_count *count)
{
    static const char key[] = "\nread_bytes: ";
    char text[512];
    ssize_t size = count->descriptor >= 0 ? pread(count->descriptor, text, sizeof text - 1, 0) : -1;
    text[size > 0 ? size : 0] = '\0';
    char *value = strstr(text, key);
    if (!value)
        return false;
    value += sizeof key - 1;
    value[strcspn(value, "\n")] = '\0';
    return hr__parse_u64(out, value, UINT64_MAX);
}
