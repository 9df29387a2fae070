/* SPDX-License-Identifier: ISC */
/* Calls about open files. */
#include <fcntl.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "faulty_calls.h"

struct handle {
    int descriptor;
    uint64_t inode, opening;
};

static struct handle *handle_of(const struct fuse_file_info *info)
{
    return (struct handle *)(uintptr_t)info->fh;
}

static int open_as(enum faulty_call call, const char *path, int flags, mode_t mode, struct fuse_file_info *info)
{
    struct stat facts;
    int error = faulty_meet(call, path);
    struct handle *handle = error ? NULL : calloc(1, sizeof *handle);
    if (!handle)
        return error ? error : -ENOMEM;
    /* The kernel's own alignment rules are not ours to pass on. */
    handle->descriptor =
        openat(faulty_here()->source, faulty_below(path), (flags & ~O_DIRECT) | O_CLOEXEC | O_NOFOLLOW, mode);
    if (handle->descriptor < 0 || fstat(handle->descriptor, &facts) != 0) {
        error = -errno;
        free(handle);
        return error;
    }
    handle->inode = facts.st_ino;
    handle->opening =
        faulty_state_opened(faulty_here()->state, faulty_below(path), handle->inode, call == FAULTY_CREATE);
    info->fh = (uintptr_t)handle;
    return 0;
}

static int open_file(const char *path, struct fuse_file_info *info)
{
    return open_as(FAULTY_OPEN, path, info->flags, 0, info);
}

static int create_file(const char *path, mode_t mode, struct fuse_file_info *info)
{
    return open_as(FAULTY_CREATE, path, info->flags | O_CREAT, mode, info);
}

static int close_file(const char *path, struct fuse_file_info *info)
{
    (void)info;
    return faulty_meet(FAULTY_CLOSE, path);
}

static int release(const char *path, struct fuse_file_info *info)
{
    (void)path;
    close(handle_of(info)->descriptor);
    free(handle_of(info));
    return 0;
}

static int cut(const char *path, off_t size, struct fuse_file_info *info)
{
    int error = faulty_meet(FAULTY_CUT, path);
    if (error)
        return error;
    int descriptor = info ? dup(handle_of(info)->descriptor)
                          : openat(faulty_here()->source, faulty_below(path), O_WRONLY | O_CLOEXEC);
    int result = descriptor < 0 ? -1 : ftruncate(descriptor, size);
    int status = faulty_answer(result);
    close(descriptor);
    return status;
}

static int read_all(int descriptor, char *into, size_t size, off_t offset)
{
    size_t got = 0;
    for (ssize_t more = 1; got < size && more > 0; got += more > 0 ? (size_t)more : 0) {
        more = pread(descriptor, into + got, size - got, offset + (off_t)got);
        if (more < 0)
            return -errno;
    }
    return (int)got;
}

static int write_all(int descriptor, const char *bytes, size_t size, off_t offset)
{
    for (size_t done = 0; done < size;) {
        ssize_t more = pwrite(descriptor, bytes + done, size - done, offset + (off_t)done);
        if (more < 0)
            return -errno;
        done += (size_t)more;
    }
    return (int)size;
}

static struct faulty_event data_event(enum faulty_call call, const char *path, const char *bytes, size_t size,
                                      off_t offset, const struct fuse_file_info *info)
{
    return (struct faulty_event){.call = call,
                                 .path = faulty_below(path),
                                 .offset = (uint64_t)offset,
                                 .size = size,
                                 .bytes = bytes,
                                 .opening = handle_of(info)->opening};
}

static int read_file(const char *path, char *into, size_t size, off_t offset, struct fuse_file_info *info)
{
    int error, got = read_all(handle_of(info)->descriptor, into, size, offset);
    if (got < 0)
        return got;
    struct faulty_event event = data_event(FAULTY_READ, path, into, (size_t)got, offset, info);
    struct faulty_block foreign = faulty_state_foreign(faulty_here()->state, event.path);
    faulty_state_passed(faulty_here()->state, event.path, into, (size_t)got);
    struct faulty_verdict verdict = faulty_state_meet(&error, faulty_here()->state, &event);
    if (error || !verdict.rule)
        return error ? -error : got;
    if (verdict.rule->harm == FAULTY_SHORT) {
        size_t left = faulty_shortened(event.size);
        faulty_state_done(faulty_here()->state, &verdict, &event, left < event.size);
        return (int)left;
    }
    faulty_state_done(faulty_here()->state, &verdict, &event,
                      faulty_damage((unsigned char *)into, (size_t)got, (uint64_t)offset, &verdict, &foreign));
    return got;
}

static bool is_zero(const char *bytes, size_t size)
{
    for (size_t i = 0; i < size; i++)
        if (bytes[i])
            return false;
    return true;
}

/* Writes the first `kept` of `size` bytes and lets the file be as long as if all had been written. */
static int write_part(int descriptor, const char *bytes, size_t kept, size_t size, off_t offset)
{
    struct stat facts;
    int error = write_all(descriptor, bytes, kept, offset);
    if (error < 0)
        return error;
    if (fstat(descriptor, &facts) != 0)
        return -errno;
    if (facts.st_size < offset + (off_t)size && ftruncate(descriptor, offset + (off_t)size) != 0)
        return -errno;
    return (int)size;
}

static int write_harmed(struct faulty_verdict *verdict, const struct faulty_event *event, const char *bytes,
                        const struct handle *handle)
{
    size_t size = event->size;
    off_t offset = (off_t)event->offset;
    enum faulty_harm harm = verdict->rule->harm;
    bool did_harm = true;
    int result;
    if (harm == FAULTY_SHORT) {
        size_t left = faulty_shortened(size);
        did_harm = left < size;
        result = write_all(handle->descriptor, bytes, left, offset);
    } else if (harm == FAULTY_TORN_TAIL || harm == FAULTY_LOST) {
        size_t kept = harm == FAULTY_LOST ? 0 : size / 2;
        did_harm = !is_zero(bytes + kept, size - kept);
        result = write_part(handle->descriptor, bytes, kept, size, offset);
    } else {
        unsigned char *copy = malloc(size);
        if (!copy)
            return -ENOMEM;
        memcpy(copy, bytes, size);
        struct faulty_block foreign = faulty_state_foreign(faulty_here()->state, event->path);
        did_harm = faulty_damage(copy, size, event->offset, verdict, &foreign);
        result = write_all(handle->descriptor, (char *)copy, size, offset);
        free(copy);
    }
    faulty_state_done(faulty_here()->state, verdict, event, did_harm && result >= 0);
    return result;
}

static int write_file(const char *path, const char *bytes, size_t size, off_t offset, struct fuse_file_info *info)
{
    int error;
    const struct handle *handle = handle_of(info);
    struct faulty_event event = data_event(FAULTY_WRITE, path, bytes, size, offset, info);
    struct faulty_verdict verdict = faulty_state_meet(&error, faulty_here()->state, &event);
    if (error)
        return -error;
    faulty_state_passed(faulty_here()->state, event.path, bytes, size);
    int written = verdict.rule ? write_harmed(&verdict, &event, bytes, handle)
                               : write_all(handle->descriptor, bytes, size, offset);
    if (written > 0)
        faulty_state_wrote(faulty_here()->state, handle->inode,
                           (struct faulty_span){(uint64_t)offset, (uint64_t)offset + (uint64_t)written});
    return written;
}

/* What a failed sync lost reads as zeros, as a block the file system had given the file but never filled. */
static void drop_span(const char *path, struct faulty_span span)
{
    static const char zeros[1 << 16];
    int descriptor = openat(faulty_here()->source, faulty_below(path), O_WRONLY | O_CLOEXEC);
    while (span.begin < span.end) {
        size_t size = span.end - span.begin < sizeof zeros ? (size_t)(span.end - span.begin) : sizeof zeros;
        if (write_all(descriptor, zeros, size, (off_t)span.begin) < 0)
            abort(); /* harm that was not done must not be counted */
        span.begin += size;
    }
    close(descriptor);
}

/* Nothing is really synced: the folder that is shown need not outlive the power. */
static int sync_file(const char *path, int data_only, struct fuse_file_info *info)
{
    int error;
    const struct handle *handle = handle_of(info);
    const struct faulty_event event = {.call = FAULTY_SYNC, .path = faulty_below(path), .opening = handle->opening};
    struct faulty_verdict verdict = faulty_state_meet(&error, faulty_here()->state, &event);
    (void)data_only;
    if (error && verdict.rule && verdict.rule->harm == FAULTY_DROP)
        drop_span(path, faulty_state_synced(faulty_here()->state, handle->inode));
    if (!error)
        faulty_state_synced(faulty_here()->state, handle->inode);
    return -error;
}

void faulty_fill_files(struct fuse_operations *operations)
{
    operations->open = open_file;
    operations->create = create_file;
    operations->truncate = cut;
    operations->read = read_file;
    operations->write = write_file;
    operations->fsync = sync_file;
    operations->flush = close_file;
    operations->release = release;
}
