/* SPDX-License-Identifier: ISC */
/* Makes one call fail in a program that is run with this library preloaded, be it the program's own or a library's.
 *
 *     FAILING_KIND=write FAILING_AT=3 FAILING_NOTE=note LD_PRELOAD=failing_calls.so headrace ...
 *
 * FAILING_KIND is a kind below; without one nothing fails. FAILING_AT counts from 1, over all threads, from main() on.
 * A call that fails has no effect (but close: the descriptor is gone, as Linux has it) and says EIO, or what such a
 * call says where memory or threads run out. FAILING_NOTE names a file to which is appended
 *
 *     failed NAME             when the failure was made, and by whom: a backtrace, one line a frame, begins with a
 * space calls KIND COUNT        at the end, for every kind left_open COUNT         at the end: descriptors that were
 * opened and not closed
 */
/* Both names of a call are defined here, and none is to stand for another. */
#undef _FILE_OFFSET_BITS
#undef _FORTIFY_SOURCE
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/statfs.h>
#include <sys/statvfs.h>
#include <sys/syscall.h>
#include <unistd.h>

enum kind {
    ALLOC,
    CLOSE,
    FACTS,
    LIST,
    LOCK,
    MAP,
    MKDIR,
    OPEN,
    READ,
    RENAME,
    SYNC,
    THREAD,
    TRUNCATE,
    UNLINK,
    WRITE,
    KINDS
};

static const char *const names[] = {"alloc", "close",  "facts", "list",   "lock",     "map",    "mkdir", "open",
                                    "read",  "rename", "sync",  "thread", "truncate", "unlink", "write"};

static atomic_ulong calls[KINDS];
static atomic_bool counts;
static int failing_kind = KINDS;
static unsigned long failing_at;
static const char *note_path;
static int open_at_start;

/* ---- What is noted, without a call that could be one of those that fail ---- */

static int note_open(void)
{
    return note_path ? (int)syscall(SYS_openat, AT_FDCWD, note_path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0666)
                     : -1;
}

__attribute__((format(printf, 2, 3))) static void note(int file, const char *format, ...)
{
    char line[128];
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    syscall(SYS_write, file, line, (size_t)length);
}

static void note_failure(const char *name)
{
    enum { FRAMES = 24 };
    void *frames[FRAMES];
    char where[FRAMES][256];
    int file = note_open(), depth = backtrace(frames, FRAMES);
    note(file, "failed %s\n", name);
    for (int i = 2; i < depth; i++) {
        Dl_info info = {0};
        const char *slash = dladdr(frames[i], &info) && info.dli_fname ? strrchr(info.dli_fname, '/') : NULL;
        snprintf(where[i], sizeof where[i], " %s+0x%lx\n", slash ? slash + 1 : "?",
                 (unsigned long)((char *)frames[i] - (char *)info.dli_fbase));
        note(file, "%.100s", where[i]);
    }
    syscall(SYS_close, file);
}

static int count_open(void)
{
    int count = 0;
    for (int i = 0; i < 1024; i++)
        count += syscall(SYS_fcntl, i, F_GETFD) >= 0;
    return count;
}

static _Thread_local bool is_asked_by_checker;

static bool fails(enum kind kind, const char *name)
{
    if (!atomic_load(&counts) || is_asked_by_checker)
        return false;
    unsigned long number = atomic_fetch_add(&calls[kind], 1) + 1;
    if ((int)kind != failing_kind || number != failing_at)
        return false;
    int error = errno;
    atomic_store(&counts, false);
    note_failure(name);
    atomic_store(&counts, true);
    errno = error;
    return true;
}

__attribute__((constructor)) static void begin(void)
{
    const char *kind = getenv("FAILING_KIND"), *at = getenv("FAILING_AT");
    void *frame;
    note_path = getenv("FAILING_NOTE");
    for (int i = 0; kind && i < KINDS; i++)
        if (strcmp(names[i], kind) == 0)
            failing_kind = i;
    failing_at = at ? strtoul(at, NULL, 10) : 0;
    backtrace(&frame, 1); /* loads what it needs, once */
    open_at_start = count_open();
    atomic_store(&counts, true);
}

__attribute__((destructor)) static void end(void)
{
    atomic_store(&counts, false);
    int left_open = count_open() - open_at_start, file = note_open();
    for (int i = 0; i < KINDS; i++)
        note(file, "calls %s %lu\n", names[i], atomic_load(&calls[i]));
    note(file, "left_open %d\n", left_open);
    syscall(SYS_close, file);
}

/* ---- Memory: looking the real function up allocates, and gets some that is never freed ---- */

static _Alignas(16) char early[65536];
static atomic_size_t early_used;

static void *early_alloc(size_t size)
{
    size_t at = atomic_fetch_add(&early_used, (size + 15) / 16 * 16);
    return at + size <= sizeof early ? early + at : NULL;
}

static bool is_early(const void *memory)
{
    return (const char *)memory >= early && (const char *)memory < early + sizeof early;
}

static _Atomic(void *) real_malloc, real_calloc, real_realloc, real_free, real_posix_memalign, real_aligned_alloc;
/* Volatile: dlsym is declared to call nothing of this file, and does. */
static _Thread_local volatile bool looks_up;

static void *look_up(_Atomic(void *) *real, const char *name)
{
    void *found = atomic_load(real);
    if (!found && !looks_up) {
        looks_up = true;
        found = dlsym(RTLD_NEXT, name);
        looks_up = false;
        atomic_store(real, found);
    }
    return found;
}

/* ISO C knows no way from what dlsym gives to a function, POSIX does. */
#define AS(type, pointer) ((type)(uintptr_t)(pointer))

void *malloc(size_t size)
{
    void *real = look_up(&real_malloc, "malloc");
    if (!real)
        return early_alloc(size);
    if (!fails(ALLOC, "malloc"))
        return AS(void *(*)(size_t), real)(size);
    errno = ENOMEM;
    return NULL;
}

void *calloc(size_t count, size_t size)
{
    void *real = look_up(&real_calloc, "calloc");
    if (!real)
        return early_alloc(count * size);
    if (!fails(ALLOC, "calloc"))
        return AS(void *(*)(size_t, size_t), real)(count, size);
    errno = ENOMEM;
    return NULL;
}

void *realloc(void *memory, size_t size)
{
    void *real = look_up(&real_realloc, "realloc");
    if (real && !is_early(memory) && !fails(ALLOC, "realloc"))
        return AS(void *(*)(void *, size_t), real)(memory, size);
    errno = ENOMEM;
    return NULL;
}

int posix_memalign(void **out, size_t alignment, size_t size)
{
    void *real = look_up(&real_posix_memalign, "posix_memalign");
    return fails(ALLOC, "posix_memalign") ? ENOMEM : AS(int (*)(void **, size_t, size_t), real)(out, alignment, size);
}

void *aligned_alloc(size_t alignment, size_t size)
{
    void *real = look_up(&real_aligned_alloc, "aligned_alloc");
    if (!fails(ALLOC, "aligned_alloc"))
        return AS(void *(*)(size_t, size_t), real)(alignment, size);
    errno = ENOMEM;
    return NULL;
}

void free(void *memory)
{
    void *real = look_up(&real_free, "free");
    if (real && !is_early(memory))
        AS(void (*)(void *), real)(memory);
}

/* ---- System calls ---- */

#define FAILING(kind, type, failed, error, name, parameters, arguments)                                                \
    type name parameters                                                                                               \
    {                                                                                                                  \
        static _Atomic(void *) real;                                                                                   \
        void *found = look_up(&real, #name);                                                                           \
        if (!fails(kind, #name))                                                                                       \
            return AS(type(*) parameters, found) arguments;                                                            \
        errno = error;                                                                                                 \
        return failed;                                                                                                 \
    }

#define FAILING_INT(kind, name, parameters, arguments) FAILING(kind, int, -1, EIO, name, parameters, arguments)

FAILING(READ, ssize_t, -1, EIO, read, (int file, void *bytes, size_t size), (file, bytes, size))
FAILING(READ, ssize_t, -1, EIO, pread, (int file, void *bytes, size_t size, off_t at), (file, bytes, size, at))
FAILING(READ, ssize_t, -1, EIO, pread64, (int file, void *bytes, size_t size, off64_t at), (file, bytes, size, at))
FAILING(WRITE, ssize_t, -1, EIO, write, (int file, const void *bytes, size_t size), (file, bytes, size))
FAILING(WRITE, ssize_t, -1, EIO, pwrite, (int file, const void *bytes, size_t size, off_t at), (file, bytes, size, at))
FAILING(WRITE, ssize_t, -1, EIO, pwrite64, (int file, const void *bytes, size_t size, off64_t at),
        (file, bytes, size, at))
FAILING_INT(SYNC, fsync, (int file), (file))
FAILING_INT(SYNC, fdatasync, (int file), (file))
FAILING_INT(SYNC, syncfs, (int file), (file))
FAILING_INT(RENAME, rename, (const char *from, const char *to), (from, to))
FAILING_INT(RENAME, renameat, (int in, const char *from, int to_in, const char *to), (in, from, to_in, to))
FAILING_INT(RENAME, renameat2, (int in, const char *from, int to_in, const char *to, unsigned flags),
            (in, from, to_in, to, flags))
FAILING_INT(RENAME, linkat, (int in, const char *from, int to_in, const char *to, int flags),
            (in, from, to_in, to, flags))
FAILING_INT(MKDIR, mkdir, (const char *path, mode_t mode), (path, mode))
FAILING_INT(MKDIR, mkdirat, (int in, const char *path, mode_t mode), (in, path, mode))
FAILING_INT(UNLINK, unlink, (const char *path), (path))
FAILING_INT(UNLINK, unlinkat, (int in, const char *path, int flags), (in, path, flags))
FAILING_INT(UNLINK, remove, (const char *path), (path))
FAILING_INT(TRUNCATE, ftruncate, (int file, off_t size), (file, size))
FAILING_INT(TRUNCATE, ftruncate64, (int file, off64_t size), (file, size))
FAILING_INT(FACTS, stat, (const char *path, struct stat *out), (path, out))
FAILING_INT(FACTS, stat64, (const char *path, struct stat64 *out), (path, out))
FAILING_INT(FACTS, lstat64, (const char *path, struct stat64 *out), (path, out))
FAILING_INT(FACTS, fstat, (int file, struct stat *out), (file, out))
FAILING_INT(FACTS, fstat64, (int file, struct stat64 *out), (file, out))
FAILING_INT(FACTS, fstatat64, (int in, const char *path, struct stat64 *out, int flags), (in, path, out, flags))
FAILING_INT(FACTS, statfs64, (const char *path, struct statfs64 *out), (path, out))
FAILING_INT(FACTS, fstatfs64, (int file, struct statfs64 *out), (file, out))
FAILING_INT(FACTS, statvfs64, (const char *path, struct statvfs64 *out), (path, out))
FAILING_INT(LOCK, flock, (int file, int operation), (file, operation))
FAILING(LIST, struct dirent *, NULL, EIO, readdir, (DIR * folder), (folder))
FAILING(LIST, struct dirent64 *, NULL, EIO, readdir64, (DIR * folder), (folder))
FAILING(OPEN, DIR *, NULL, EIO, opendir, (const char *path), (path))
FAILING(OPEN, DIR *, NULL, EIO, fdopendir, (int file), (file))
FAILING(OPEN, FILE *, NULL, EIO, fopen, (const char *path, const char *mode), (path, mode))
FAILING(OPEN, FILE *, NULL, EIO, fopen64, (const char *path, const char *mode), (path, mode))
FAILING(MAP, void *, MAP_FAILED, ENOMEM, mmap64,
        (void *at, size_t size, int protection, int flags, int file, off64_t from),
        (at, size, protection, flags, file, from))
FAILING(THREAD, int, EAGAIN, 0, pthread_create,
        (pthread_t * thread, const pthread_attr_t *attributes, void *(*body)(void *), void *argument),
        (thread, attributes, body, argument))

/* The leak checker asks this of each thread that begins, and ends the program when there is no memory for it. */
int pthread_getattr_np(pthread_t thread, pthread_attr_t *out)
{
    static _Atomic(void *) real;
    void *found = look_up(&real, "pthread_getattr_np");
    is_asked_by_checker = true;
    int status = AS(int (*)(pthread_t, pthread_attr_t *), found)(thread, out);
    is_asked_by_checker = false;
    return status;
}

int close(int file)
{
    bool has_failed = fails(CLOSE, "close");
    int status = (int)syscall(SYS_close, file);
    if (has_failed)
        errno = EIO;
    return has_failed ? -1 : status;
}

/* The calls whose last argument need not be there. */
static mode_t mode_of(int flags, va_list *arguments)
{
    return flags & (O_CREAT | __O_TMPFILE) ? va_arg(*arguments, mode_t) : 0;
}

#define FAILING_OPEN(name, parameters, in, path)                                                                       \
    int name parameters                                                                                                \
    {                                                                                                                  \
        va_list arguments;                                                                                             \
        va_start(arguments, flags);                                                                                    \
        mode_t mode = mode_of(flags, &arguments);                                                                      \
        va_end(arguments);                                                                                             \
        if (!fails(OPEN, #name))                                                                                       \
            return (int)syscall(SYS_openat, in, path, flags, mode);                                                    \
        errno = EIO;                                                                                                   \
        return -1;                                                                                                     \
    }

FAILING_OPEN(open, (const char *path, int flags, ...), AT_FDCWD, path)
FAILING_OPEN(open64, (const char *path, int flags, ...), AT_FDCWD, path)
FAILING_OPEN(openat, (int in, const char *path, int flags, ...), in, path)
FAILING_OPEN(openat64, (int in, const char *path, int flags, ...), in, path)

int fcntl64(int file, int command, ...)
{
    va_list arguments;
    va_start(arguments, command);
    void *argument = va_arg(arguments, void *);
    va_end(arguments);
    bool is_lock = command == F_SETLK || command == F_SETLKW || command == F_GETLK;
    if (!is_lock || !fails(LOCK, "fcntl"))
        return (int)syscall(SYS_fcntl, file, command, argument);
    errno = EIO;
    return -1;
}

/* What has no function of its own in the C library; all else passes, also what this file itself asks for. */
long syscall(long number, ...)
{
    static _Atomic(void *) real;
    void *found = look_up(&real, "syscall");
    long given[6];
    va_list arguments;
    va_start(arguments, number);
    for (int i = 0; i < 6; i++)
        given[i] = va_arg(arguments, long);
    va_end(arguments);
    if (number != SYS_openat2 || !fails(OPEN, "openat2"))
        return AS(long (*)(long, ...), found)(number, given[0], given[1], given[2], given[3], given[4], given[5]);
    errno = EIO;
    return -1;
}
