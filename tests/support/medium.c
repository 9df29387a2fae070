/* SPDX-License-Identifier: ISC */
/* A drive with one budget for reading and writing, played in memory: a FUSE file system that holds one file, IMAGE, to
 * be put under a loop device. Every request occupies the drive for its bytes over its rate, one after another; with
 * --seek-ms also for the way of the heads to where it begins. Real drives are nearer to this than a limit on reads and
 * one on writes.
 *
 *     medium FOLDER --mb N --mb-per-s RATE [--seek-ms MS]      in the background; ends when FOLDER is unmounted
 *
 * MB are powers of ten. The memory is touched first, so that a measurement does not pay for it. */
#define FUSE_USE_VERSION 31
#include <errno.h>
#include <fuse.h>
#include <pthread.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <time.h>
#include <unistd.h>

static const char image_path[] = "/IMAGE";
enum { REQUEST_BYTES = 1 << 20 };
/* A sleep ends late by some tens of microseconds; what it overslept is not taken from the next request's budget. */
static const int64_t oversleep_ns = 1000000;

struct medium {
    unsigned char *bytes;
    uint64_t size;
    double ns_per_byte;
    int64_t seek_ns;
    pthread_mutex_t lock;
    pthread_cond_t changed;
    /* guarded by lock */
    struct request *queue; /* of a drive with heads: what it has not begun with */
    int64_t busy_until_ns;
    uint64_t head; /* the byte after the last one read or written */
};

static struct medium *medium_of_call(void)
{
    return fuse_get_context()->private_data;
}

static int64_t now_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

static void sleep_until(int64_t at_ns)
{
    struct timespec at = {.tv_sec = at_ns / 1000000000, .tv_nsec = at_ns % 1000000000};
    while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, NULL) == EINTR)
        ;
}

/* A gap ahead costs at most to let it pass below the heads. */
static int64_t way_ns(const struct medium *medium, uint64_t offset)
{
    if (offset < medium->head)
        return medium->seek_ns;
    double pass_ns = (double)(offset - medium->head) * medium->ns_per_byte;
    return pass_ns < (double)medium->seek_ns ? (int64_t)pass_ns : medium->seek_ns;
}

static int64_t occupy_locked(struct medium *medium, uint64_t offset, size_t size)
{
    int64_t begin_ns = now_ns() - oversleep_ns;
    if (begin_ns < medium->busy_until_ns)
        begin_ns = medium->busy_until_ns;
    if (medium->seek_ns)
        begin_ns += way_ns(medium, offset);
    medium->head = offset + size;
    medium->busy_until_ns = begin_ns + (int64_t)((double)size * medium->ns_per_byte);
    return medium->busy_until_ns;
}

/* What was sent together in order reaches us in any, a moment later. A drive with heads, which has a queue, waits that
 * long and goes on with what lies nearest ahead. */
static const int64_t gather_ns = 500000;

struct request {
    struct request *next;
    uint64_t offset;
};

static const struct request *nearest_locked(const struct medium *medium)
{
    const struct request *nearest = medium->queue;
    for (const struct request *other = medium->queue; other; other = other->next)
        if (other->offset - medium->head < nearest->offset - medium->head) /* what lies behind is farthest: it wraps */
            nearest = other;
    return nearest;
}

static void join(struct medium *medium, struct request *request)
{
    pthread_mutex_lock(&medium->lock);
    request->next = medium->queue;
    medium->queue = request;
    pthread_mutex_unlock(&medium->lock);
    sleep_until(now_ns() + gather_ns);
}

static void leave_locked(struct medium *medium, const struct request *request)
{
    struct request **place = &medium->queue;
    while (*place != request)
        place = &(*place)->next;
    *place = request->next;
    pthread_cond_broadcast(&medium->changed);
}

static void occupy(struct medium *medium, uint64_t offset, size_t size)
{
    struct request request = {.offset = offset};
    if (medium->seek_ns)
        join(medium, &request);
    pthread_mutex_lock(&medium->lock);
    while (medium->seek_ns && nearest_locked(medium) != &request)
        pthread_cond_wait(&medium->changed, &medium->lock);
    int64_t end_ns = occupy_locked(medium, offset, size);
    if (medium->seek_ns)
        leave_locked(medium, &request);
    pthread_mutex_unlock(&medium->lock);
    sleep_until(end_ns);
}

static size_t within(const struct medium *medium, off_t offset, size_t size)
{
    if (offset < 0 || (uint64_t)offset >= medium->size)
        return 0;
    uint64_t left = medium->size - (uint64_t)offset;
    return size < left ? size : (size_t)left;
}

static int medium_read(const char *path, char *into, size_t size, off_t offset, struct fuse_file_info *info)
{
    (void)path, (void)info;
    struct medium *medium = medium_of_call();
    size = within(medium, offset, size);
    memcpy(into, medium->bytes + offset, size);
    occupy(medium, (uint64_t)offset, size);
    return (int)size;
}

static int medium_write(const char *path, const char *from, size_t size, off_t offset, struct fuse_file_info *info)
{
    (void)path, (void)info;
    struct medium *medium = medium_of_call();
    size = within(medium, offset, size);
    if (size == 0)
        return -ENOSPC;
    memcpy(medium->bytes + offset, from, size);
    occupy(medium, (uint64_t)offset, size);
    return (int)size;
}

static int medium_getattr(const char *path, struct stat *facts, struct fuse_file_info *info)
{
    (void)info;
    *facts = (struct stat){.st_nlink = 1};
    if (strcmp(path, "/") == 0)
        facts->st_mode = S_IFDIR | 0755;
    else if (strcmp(path, image_path) == 0)
        facts->st_mode = S_IFREG | 0644, facts->st_size = (off_t)medium_of_call()->size;
    else
        return -ENOENT;
    return 0;
}

static int medium_readdir(const char *path, void *list, fuse_fill_dir_t add, off_t offset, struct fuse_file_info *info,
                          enum fuse_readdir_flags flags)
{
    (void)path, (void)offset, (void)info, (void)flags;
    return add(list, image_path + 1, NULL, 0, 0);
}

static int medium_open(const char *path, struct fuse_file_info *info)
{
    info->direct_io = 1;
    return strcmp(path, image_path) == 0 ? 0 : -ENOENT;
}

static int medium_fsync(const char *path, int only_data, struct fuse_file_info *info)
{
    (void)path, (void)only_data, (void)info;
    return 0;
}

static void *medium_init(struct fuse_conn_info *connection, struct fuse_config *config)
{
    (void)config;
    struct medium *medium = medium_of_call();
    connection->max_write = REQUEST_BYTES;
    connection->max_background = 64;
    (void)madvise(medium->bytes, medium->size, MADV_POPULATE_WRITE); /* here, in the process that will serve */
    return medium;
}

static const struct fuse_operations operations = {.getattr = medium_getattr,
                                                  .readdir = medium_readdir,
                                                  .open = medium_open,
                                                  .read = medium_read,
                                                  .write = medium_write,
                                                  .fsync = medium_fsync,
                                                  .init = medium_init};

static _Noreturn void usage(void)
{
    fputs("usage: medium FOLDER --mb N --mb-per-s RATE [--seek-ms MS]\n", stderr);
    exit(2);
}

static double positive(const char *text)
{
    char *end;
    double value = strtod(text ? text : "", &end);
    if (!text || *end || !(value > 0))
        usage();
    return value;
}

int main(int argc, char **argv)
{
    static struct medium medium = {.lock = PTHREAD_MUTEX_INITIALIZER, .changed = PTHREAD_COND_INITIALIZER};
    if (argc < 2)
        usage();
    for (int i = 2; i < argc; i += 2) {
        double value = positive(argv[i + 1]);
        if (strcmp(argv[i], "--mb") == 0)
            medium.size = (uint64_t)(value * 1e6) / 4096 * 4096;
        else if (strcmp(argv[i], "--mb-per-s") == 0)
            medium.ns_per_byte = 1e3 / value;
        else if (strcmp(argv[i], "--seek-ms") == 0)
            medium.seek_ns = (int64_t)(value * 1e6);
        else
            usage();
    }
    if (medium.size == 0 || !(medium.ns_per_byte > 0))
        usage();
    medium.bytes = mmap(NULL, medium.size, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (medium.bytes == MAP_FAILED) {
        perror("medium: cannot have that much memory");
        return 1;
    }
    char *arguments[] = {argv[0], argv[1], NULL};
    return fuse_main(2, arguments, &operations, &medium);
}
