/* SPDX-License-Identifier: ISC */
#include "platform/file.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/units.h"
#include "platform/folder.h"
#include "platform/system.h"

static const int open_flags[] = {
    [HR_FILE_READ] = O_RDONLY | O_NONBLOCK,
    [HR_FILE_CREATE] = O_RDWR | O_CREAT | O_EXCL,
    [HR_FILE_APPEND] = O_WRONLY | O_CREAT | O_APPEND | O_NONBLOCK,
};

static enum hr_status refuse_kind(const char *shown, struct hr_fault *fault)
{
    return hr__fault_path(fault, HR_UNSUPPORTED, 0, "not a regular file:", shown);
}

/* A FIFO without a partner and a socket answer ENXIO; the kind of what was opened is asked before anything is read. */
static enum hr_status check_opened(int error, int descriptor, enum hr_file_use use, const char *shown,
                                   struct hr_fault *fault)
{
    struct stat stat;
    if (error == ENXIO || error == ELOOP || error == EISDIR)
        return refuse_kind(shown, fault);
    if (error)
        return hr__system_fault(fault, error, use == HR_FILE_CREATE ? "cannot make" : "cannot open", shown);
    if (fstat(descriptor, &stat) != 0)
        return hr__system_fault(fault, errno, "cannot ask about", shown);
    return S_ISREG(stat.st_mode) ? HR_OK : refuse_kind(shown, fault);
}

/* All wishes in one call, for there are thousands of files; where they are not granted, one by one. Only for reading: a
 * file that is made must not be left behind by a wish that was refused. */
static int open_reading(int *descriptor, bool *is_direct, const struct hr_folder *folder, const char *name, bool direct)
{
    int flags = hr__variant_reading_flags(direct);
    int error =
        flags ? hr__below_open(descriptor, folder->descriptor, name, open_flags[HR_FILE_READ] | flags, 0) : EINVAL;
    *is_direct = direct && !error;
    if (error != EINVAL && error != EPERM)
        return error;
    error = hr__below_open(descriptor, folder->descriptor, name, open_flags[HR_FILE_READ], 0);
    if (!error) {
        hr__variant_keep_access_time(*descriptor);
        *is_direct = direct && hr__variant_go_direct(*descriptor);
    }
    return error;
}

enum hr_status hr__file_open(struct hr_file *file, const struct hr_folder *folder, const char *name,
                             enum hr_file_use use, bool direct, const char *shown, struct hr_fault *fault)
{
    int descriptor = -1, error;
    bool is_direct = false;
    *file = HR_FILE_CLOSED;
    if (use == HR_FILE_READ)
        error = open_reading(&descriptor, &is_direct, folder, name, direct);
    else
        error = hr__below_open(&descriptor, folder->descriptor, name, open_flags[use], 0666);
    enum hr_status status = check_opened(error, descriptor, use, shown, fault);
    if (status == HR_OK) {
        if (use != HR_FILE_READ)
            is_direct = direct && hr__variant_go_direct(descriptor);
        *file = (struct hr_file){.descriptor = descriptor, .direct = is_direct, .path = shown};
    } else if (descriptor >= 0) {
        close(descriptor);
    }
    return status;
}

uint64_t hr__direct_border(uint64_t size)
{
    return (size + HR_DIRECT_ALIGNMENT - 1) / HR_DIRECT_ALIGNMENT * HR_DIRECT_ALIGNMENT;
}

enum hr_status hr__file_close(struct hr_file *file, struct hr_fault *fault)
{
    int descriptor = file->descriptor;
    file->descriptor = -1;
    if (descriptor >= 0 && close(descriptor) != 0)
        return hr__system_fault(fault, errno, "cannot close", file->path);
    return HR_OK;
}

enum hr_status hr__file_facts(struct hr_file_facts *out, const struct hr_file *file, struct hr_fault *fault)
{
    struct stat stat;
    if (fstat(file->descriptor, &stat) != 0)
        return hr__system_fault(fault, errno, "cannot ask about", file->path);
    *out = hr__facts_of_stat(&stat);
    return HR_OK;
}

enum hr_status hr__file_read_at(size_t *got, const struct hr_file *file, void *into, size_t size, uint64_t offset,
                                struct hr_fault *fault)
{
    size_t done = 0;
    bool ended = false;
    while (done < size && !ended) {
        ssize_t count = pread(file->descriptor, (char *)into + done, size - done, (off_t)(offset + done));
        if (count < 0 && errno != EINTR)
            return hr__system_fault(fault, errno, "cannot read", file->path);
        done += count > 0 ? (size_t)count : 0;
        /* Past the cache, the next offset would no longer be aligned: only the end of the file comes so. */
        ended = count == 0 || (file->direct && done % HR_DIRECT_ALIGNMENT != 0);
    }
    *got = done;
    return HR_OK;
}

static enum hr_status write_all(const struct hr_file *file, const char *bytes, size_t size, uint64_t offset,
                                struct hr_fault *fault)
{
    for (size_t done = 0; done < size;) {
        ssize_t count = pwrite(file->descriptor, bytes + done, size - done, (off_t)(offset + done));
        if (count == 0 || (count < 0 && errno != EINTR))
            return hr__system_fault(fault, count ? errno : EIO, "cannot write", file->path);
        done += count > 0 ? (size_t)count : 0;
    }
    return HR_OK;
}

enum hr_status hr__file_write_at(struct hr_file *file, const void *bytes, size_t size, uint64_t offset,
                                 struct hr_fault *fault)
{
    size_t rest = file->direct ? size % HR_DIRECT_ALIGNMENT : 0, whole = size - rest;
    enum hr_status status = write_all(file, bytes, whole, offset, fault);
    if (status || !rest)
        return status;
    hr__variant_leave_direct(file->descriptor);
    file->direct = false;
    status = write_all(file, (const char *)bytes + whole, rest, offset + whole, fault);
    if (!status)
        hr__variant_start_writing(file->descriptor, offset + whole, rest);
    return status;
}

void hr__file_start_writing(const struct hr_file *file)
{
    hr__variant_start_writing(file->descriptor, 0, 0);
}

enum hr_status hr__file_append(const struct hr_file *file, const void *bytes, size_t size, struct hr_fault *fault)
{
    for (size_t done = 0; done < size;) {
        ssize_t count = write(file->descriptor, (const char *)bytes + done, size - done);
        if (count == 0 || (count < 0 && errno != EINTR))
            return hr__system_fault(fault, count ? errno : EIO, "cannot write", file->path);
        done += count > 0 ? (size_t)count : 0;
    }
    return HR_OK;
}

enum hr_status hr__file_truncate(const struct hr_file *file, uint64_t size, struct hr_fault *fault)
{
    if (ftruncate(file->descriptor, (off_t)size) != 0)
        return hr__system_fault(fault, errno, "cannot set the size of", file->path);
    return HR_OK;
}

enum hr_status hr__file_set_modified(const struct hr_file *file, int64_t modified_ns, struct hr_fault *fault)
{
    int64_t s = modified_ns / HR_NS_PER_S, ns = modified_ns % HR_NS_PER_S;
    if (ns < 0) {
        s--;
        ns += HR_NS_PER_S;
    }
    const struct timespec times[2] = {{.tv_nsec = UTIME_OMIT}, {.tv_sec = (time_t)s, .tv_nsec = (long)ns}};
    if (futimens(file->descriptor, times) != 0)
        return hr__system_fault(fault, errno, "cannot set the time of", file->path);
    return HR_OK;
}

enum hr_status hr__file_share(const struct hr_file *file, const struct hr_file *source, struct hr_fault *fault)
{
    int error = hr__variant_share(file->descriptor, source->descriptor);
    return error ? hr__system_fault(fault, error, "cannot share the blocks of", source->path) : HR_OK;
}

enum hr_status hr__file_sync(const struct hr_file *file, struct hr_fault *fault)
{
    if (fsync(file->descriptor) != 0)
        return hr__system_fault(fault, errno, "cannot make durable", file->path);
    return HR_OK;
}

/* Files of /proc and /sys do not say their size: it is read until the end comes. */
static enum hr_status load_open(char **bytes, size_t *size, const struct hr_file *file, size_t ceiling,
                                struct hr_fault *fault)
{
    struct hr_file_facts facts = {0};
    enum hr_status status = hr__file_facts(&facts, file, fault);
    size_t capacity = 0, room = facts.size_bytes < ceiling ? (size_t)facts.size_bytes : ceiling, got = 0;
    bool ended = false;
    while (status == HR_OK && !ended) {
        if (*size > ceiling)
            return hr__fault_path(fault, HR_TOO_LARGE, 0, "larger than allowed:", file->path);
        if (!hr__array_reserve(bytes, &capacity, (*size ? *size : room) + 2, 1, ceiling + 2))
            return hr__fault_nomem(fault, "the content of a file");
        room = capacity - 1 - *size;
        status = hr__file_read_at(&got, file, *bytes + *size, room, *size, fault);
        *size += status == HR_OK ? got : 0;
        ended = got < room;
    }
    return status;
}

enum hr_status hr__file_load(char **bytes, size_t *size, const struct hr_folder *folder, const char *name,
                             size_t ceiling, const char *shown, struct hr_fault *fault)
{
    assert(ceiling <= SIZE_MAX - 2);
    struct hr_file file;
    char *content = NULL;
    size_t content_size = 0;
    enum hr_status status = hr__file_open(&file, folder, name, HR_FILE_READ, false, shown, fault);
    if (status == HR_OK)
        status = load_open(&content, &content_size, &file, ceiling, fault);
    (void)hr__file_close(&file, NULL);
    if (status == HR_OK) {
        content[content_size] = '\0';
        *bytes = content;
        *size = content_size;
    } else {
        free(content);
    }
    return status;
}

enum hr_status hr__file_write_new(const struct hr_folder *folder, const char *name, const void *bytes, size_t size,
                                  const char *shown, struct hr_fault *fault)
{
    struct hr_file file;
    enum hr_status status = hr__file_open(&file, folder, name, HR_FILE_CREATE, false, shown, fault);
    if (status)
        return status;
    status = hr__file_write_at(&file, bytes, size, 0, fault);
    if (!status)
        status = hr__file_sync(&file, fault);
    enum hr_status closed = hr__file_close(&file, fault);
    return status ? status : closed;
}
