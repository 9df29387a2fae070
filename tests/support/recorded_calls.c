/* SPDX-License-Identifier: ISC */
/* Calls that take an offset have two names in libc: built as all of the project is, these functions bear the names for
 * large files, which the program and SQLite call. */
#include "recorded_calls.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

static pthread_mutex_t one_at_a_time = PTHREAD_MUTEX_INITIALIZER;
static const char *below;
static size_t below_length;
static int recording = -1;
static uint64_t calls, die_at;

/* libc's own. POSIX has dlsym give functions as data, which C does not. */
#define LIBC(name) (__extension__(__typeof__(&name)) dlsym(RTLD_NEXT, #name))

static uint64_t number_in(const char *name)
{
    const char *text = getenv(name);
    return text ? strtoull(text, NULL, 10) : 0;
}

__attribute__((constructor)) static void begin(void)
{
    const char *to = getenv("RECORDED_TO");
    below = getenv("RECORDED_BELOW");
    below_length = below ? strlen(below) : 0;
    die_at = number_in("RECORDED_DIE_AT");
    if (to)
        recording = LIBC(open)(to, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
}

/* ---- Which file it is about ---- */

/* "" for what is not below the folder. */
struct path {
    char bytes[PATH_MAX];
};

static void take_below(struct path *path, const char *whole)
{
    bool is_below = below && !strncmp(whole, below, below_length) && whole[below_length] == '/';
    snprintf(path->bytes, sizeof path->bytes, "%s", is_below ? whole + below_length + 1 : "");
}

static bool whole_of(char whole[PATH_MAX], int descriptor)
{
    char link[64];
    static const char gone[] = " (deleted)";
    snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
    ssize_t size = below ? readlink(link, whole, PATH_MAX - 1) : -1;
    whole[size > 0 ? size : 0] = '\0';
    size_t length = strlen(whole);
    return length && (length < sizeof gone || strcmp(whole + length - (sizeof gone - 1), gone) != 0);
}

static struct path path_of(int descriptor)
{
    struct path path = {""};
    char whole[PATH_MAX];
    if (whole_of(whole, descriptor))
        take_below(&path, whole);
    return path;
}

static struct path path_at(int folder, const char *name)
{
    struct path path = {""};
    char whole[PATH_MAX], joined[2 * PATH_MAX];
    bool is_absolute = name[0] == '/';
    if (!is_absolute && folder == AT_FDCWD && !(below && getcwd(whole, sizeof whole)))
        return path;
    if (!is_absolute && folder != AT_FDCWD && !whole_of(whole, folder))
        return path;
    snprintf(joined, sizeof joined, "%s%s%s", is_absolute ? "" : whole, is_absolute ? "" : "/", name);
    if (strlen(joined) < PATH_MAX)
        take_below(&path, joined);
    return path;
}

/* ---- Noting ---- */

static void put(const void *bytes, size_t size)
{
    if (size && LIBC(write)(recording, bytes, size) != (ssize_t)size)
        abort(); /* a recording with a gap would show what never was */
}

static void note(enum recorded_kind kind, const char *path, const char *other, uint64_t offset, const void *bytes,
                 size_t size)
{
    int error = errno;
    struct recorded_call call = {.kind = kind,
                                 .path_size = (uint32_t)strlen(path),
                                 .other_size = (uint32_t)strlen(other),
                                 .byte_count = (uint32_t)size,
                                 .offset = offset};
    if (recording < 0 || !*path)
        return;
    put(&call, sizeof call);
    put(path, call.path_size);
    put(other, call.other_size);
    put(bytes, size);
    errno = error;
}

static void tell_death(enum recorded_kind kind, const char *path)
{
    static const char *const names[] = {RECORDED_KIND_NAMES};
    const char *to = getenv("RECORDED_DEATH");
    int file = to ? LIBC(open)(to, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666) : -1;
    if (file >= 0)
        dprintf(file, "%s %s\n", names[kind], path);
}

/* Begins a call about `path`; true when it is the last. */
static bool enter(const char *path)
{
    pthread_mutex_lock(&one_at_a_time);
    return *path && ++calls == die_at;
}

static void die(enum recorded_kind kind, const char *path)
{
    tell_death(kind, path);
    kill(getpid(), SIGKILL);
    for (;;)
        pause();
}

static void leave(void)
{
    pthread_mutex_unlock(&one_at_a_time);
}

static void enter_or_die(enum recorded_kind kind, const char *path)
{
    if (enter(path))
        die(kind, path);
}

/* ---- Files are made ---- */

static bool stands(int folder, const char *name)
{
    struct stat facts;
    return fstatat(folder, name, &facts, AT_SYMLINK_NOFOLLOW) == 0;
}

/* Opening makes a file, or cuts it, or does nothing that is noted. */
struct opening {
    struct path path;
    bool makes, cuts;
};

static void open_begins(struct opening *opening, int folder, const char *name, int flags)
{
    *opening = (struct opening){.path = {""}};
    if (flags & (O_CREAT | O_TRUNC))
        opening->path = path_at(folder, name);
    if (*opening->path.bytes) {
        bool is_there = stands(folder, name);
        opening->makes = flags & O_CREAT && !is_there;
        opening->cuts = flags & O_TRUNC && is_there;
    }
    if (!opening->makes && !opening->cuts)
        opening->path.bytes[0] = '\0';
    enter_or_die(opening->makes ? RECORDED_MAKE : RECORDED_CUT, opening->path.bytes);
}

static int open_ends(const struct opening *opening, int descriptor)
{
    if (descriptor >= 0)
        note(opening->makes ? RECORDED_MAKE : RECORDED_CUT, opening->path.bytes, "", 0, NULL, 0);
    leave();
    return descriptor;
}

static mode_t mode_in(int flags, va_list rest)
{
    return flags & O_CREAT ? va_arg(rest, mode_t) : 0;
}

int open(const char *path, int flags, ...)
{
    struct opening opening;
    va_list rest;
    va_start(rest, flags);
    mode_t mode = mode_in(flags, rest);
    va_end(rest);
    open_begins(&opening, AT_FDCWD, path, flags);
    return open_ends(&opening, LIBC(open)(path, flags, mode));
}

int openat(int folder, const char *path, int flags, ...)
{
    struct opening opening;
    va_list rest;
    va_start(rest, flags);
    mode_t mode = mode_in(flags, rest);
    va_end(rest);
    open_begins(&opening, folder, path, flags);
    return open_ends(&opening, LIBC(openat)(folder, path, flags, mode));
}

/* openat2 has no function of its own; its flags are the first number of what it is given. */
long syscall(long number, ...)
{
    long given[6];
    va_list rest;
    va_start(rest, number);
    for (size_t i = 0; i < sizeof given / sizeof *given; i++)
        given[i] = va_arg(rest, long);
    va_end(rest);
    if (number != SYS_openat2)
        return LIBC(syscall)(number, given[0], given[1], given[2], given[3], given[4], given[5]);
    struct opening opening;
    const uint64_t *how = (const uint64_t *)given[2];
    open_begins(&opening, (int)given[0], (const char *)given[1], (int)how[0]);
    long descriptor = LIBC(syscall)(number, given[0], given[1], given[2], given[3], given[4], given[5]);
    return open_ends(&opening, (int)descriptor);
}

/* ---- Bytes ---- */

static uint64_t where_it_appends(int descriptor)
{
    struct stat facts;
    if (!(fcntl(descriptor, F_GETFL) & O_APPEND))
        return (uint64_t)lseek(descriptor, 0, SEEK_CUR);
    return fstat(descriptor, &facts) == 0 ? (uint64_t)facts.st_size : 0;
}

ssize_t write(int descriptor, const void *bytes, size_t size)
{
    struct path path = path_of(descriptor);
    bool is_last = enter(path.bytes);
    uint64_t offset = *path.bytes ? where_it_appends(descriptor) : 0;
    ssize_t done = LIBC(write)(descriptor, bytes, is_last ? die_at % 2 * size / 2 : size);
    if (is_last)
        die(RECORDED_WRITE, path.bytes);
    if (done > 0)
        note(RECORDED_WRITE, path.bytes, "", offset, bytes, (size_t)done);
    leave();
    return done;
}

ssize_t pwrite(int descriptor, const void *bytes, size_t size, off_t offset)
{
    struct path path = path_of(descriptor);
    bool is_last = enter(path.bytes);
    ssize_t done = LIBC(pwrite)(descriptor, bytes, is_last ? die_at % 2 * size / 2 : size, offset);
    if (is_last)
        die(RECORDED_WRITE, path.bytes);
    if (done > 0)
        note(RECORDED_WRITE, path.bytes, "", (uint64_t)offset, bytes, (size_t)done);
    leave();
    return done;
}

int ftruncate(int descriptor, off_t size)
{
    struct path path = path_of(descriptor);
    enter_or_die(RECORDED_CUT, path.bytes);
    int status = LIBC(ftruncate)(descriptor, size);
    if (status == 0)
        note(RECORDED_CUT, path.bytes, "", (uint64_t)size, NULL, 0);
    leave();
    return status;
}

#define SYNC_CALL(name, kind)                                                                                          \
    int name(int descriptor)                                                                                           \
    {                                                                                                                  \
        struct path path = path_of(descriptor);                                                                        \
        enter_or_die(kind, path.bytes);                                                                                \
        int status = LIBC(name)(descriptor);                                                                           \
        if (status == 0)                                                                                               \
            note(kind, path.bytes, "", 0, NULL, 0);                                                                    \
        leave();                                                                                                       \
        return status;                                                                                                 \
    }
SYNC_CALL(fsync, RECORDED_SYNC)
SYNC_CALL(fdatasync, RECORDED_SYNC)
SYNC_CALL(syncfs, RECORDED_SYNCFS)

/* ---- Names ---- */

/* What has one name. */
#define NAME_CALL(kind, folder, name, call)                                                                            \
    do {                                                                                                               \
        struct path path = path_at(folder, name);                                                                      \
        enter_or_die(kind, path.bytes);                                                                                \
        int status = call;                                                                                             \
        if (status == 0)                                                                                               \
            note(kind, path.bytes, "", 0, NULL, 0);                                                                    \
        leave();                                                                                                       \
        return status;                                                                                                 \
    } while (0)
/* What has two. */
#define NAMES_CALL(kind, from_folder, from, to_folder, to, call)                                                       \
    do {                                                                                                               \
        struct path path = path_at(from_folder, from), other = path_at(to_folder, to);                                 \
        enter_or_die(kind, path.bytes);                                                                                \
        int status = call;                                                                                             \
        if (status == 0)                                                                                               \
            note(kind, path.bytes, other.bytes, 0, NULL, 0);                                                           \
        leave();                                                                                                       \
        return status;                                                                                                 \
    } while (0)

int mkdir(const char *name, mode_t mode)
{
    NAME_CALL(RECORDED_FOLDER, AT_FDCWD, name, LIBC(mkdir)(name, mode));
}

int mkdirat(int folder, const char *name, mode_t mode)
{
    NAME_CALL(RECORDED_FOLDER, folder, name, LIBC(mkdirat)(folder, name, mode));
}

int unlink(const char *name)
{
    NAME_CALL(RECORDED_REMOVE, AT_FDCWD, name, LIBC(unlink)(name));
}

int unlinkat(int folder, const char *name, int flags)
{
    NAME_CALL(RECORDED_REMOVE, folder, name, LIBC(unlinkat)(folder, name, flags));
}

int renameat(int from_folder, const char *from, int to_folder, const char *to)
{
    NAMES_CALL(RECORDED_RENAME, from_folder, from, to_folder, to, LIBC(renameat)(from_folder, from, to_folder, to));
}

int renameat2(int from_folder, const char *from, int to_folder, const char *to, unsigned flags)
{
    NAMES_CALL(RECORDED_RENAME, from_folder, from, to_folder, to,
               LIBC(renameat2)(from_folder, from, to_folder, to, flags));
}

int linkat(int from_folder, const char *from, int to_folder, const char *to, int flags)
{
    NAMES_CALL(RECORDED_LINK, from_folder, from, to_folder, to, LIBC(linkat)(from_folder, from, to_folder, to, flags));
}
