/* SPDX-License-Identifier: ISC */
/* Files by descriptor. Every call maps the system's error to a status in one place and puts the path into the fault.
 *
 * A file opened here is never followed through a symbolic link in its last component, is close-on-exec, and must be a
 * regular file: anything else fails with HR_UNSUPPORTED (the open does not block on a FIFO). Where the system lets us,
 * reading leaves the access time as it was. */
#ifndef HR_PLATFORM_FILE_H
#define HR_PLATFORM_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

struct hr_folder;

enum hr_file_use {
    HR_FILE_READ,   /* must exist */
    HR_FILE_CREATE, /* must not exist: HR_EXISTS; mode 0666 less umask; also readable */
    HR_FILE_APPEND  /* made when missing; writes go to the end */
};

struct hr_file {
    int descriptor;   /* -1: not open */
    bool direct;      /* opened past the page cache: offsets, sizes and memory in multiples of HR_DIRECT_ALIGNMENT */
    const char *path; /* borrowed, for faults only */
};

enum { HR_DIRECT_ALIGNMENT = 4096 };
/* The next multiple of HR_DIRECT_ALIGNMENT from `size` on. */
uint64_t hr__direct_border(uint64_t size);
#define HR_FILE_CLOSED ((struct hr_file){.descriptor = -1})

/* Opens `name` (a path below `folder`, '/' allowed, no component followed through a link) in `folder`. `shown` is the
 * path used in faults and must live as long as the file. With `direct` the page cache is bypassed; where the
 * filesystem does not take that the file is opened plainly and file->direct is false.
 * HR_NOT_FOUND, HR_EXISTS, HR_DENIED, HR_READ_ONLY, HR_FULL, HR_UNSUPPORTED, HR_GONE, HR_IO, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__file_open(struct hr_file *file, const struct hr_folder *folder, const char *name,
                                         enum hr_file_use use, bool direct, const char *shown, struct hr_fault *fault);
/* Closes and reports what close says; the descriptor is gone either way. Nothing to do when not open. */
enum hr_status hr__file_close(struct hr_file *file, struct hr_fault *fault);

struct hr_file_facts {
    uint64_t size_bytes;
    uint64_t device, inode;
    int64_t modified_ns;  /* wall time */
    unsigned permissions; /* the nine bits */
    bool is_folder, is_regular, is_link;
};
HR_MUST_USE enum hr_status hr__file_facts(struct hr_file_facts *out, const struct hr_file *file,
                                          struct hr_fault *fault);

/* Reads until `size` bytes, the end of the file or an error; *got says how many. A short count with HR_OK is the end.
 */
HR_MUST_USE enum hr_status hr__file_read_at(size_t *got, const struct hr_file *file, void *into, size_t size,
                                            uint64_t offset, struct hr_fault *fault);
/* Writes all of it or fails. Past the page cache only whole multiples of HR_DIRECT_ALIGNMENT can be written: what is
 * left of the last goes through it, and so does all that is written after; it is sent out at once, while heads are
 * near. (To write a whole one and cut the file off makes a file system read the end back first.) */
HR_MUST_USE enum hr_status hr__file_write_at(struct hr_file *file, const void *bytes, size_t size, uint64_t offset,
                                             struct hr_fault *fault);
/* For HR_FILE_APPEND. All of it or fails. */
HR_MUST_USE enum hr_status hr__file_append(const struct hr_file *file, const void *bytes, size_t size,
                                           struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__file_truncate(const struct hr_file *file, uint64_t size, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__file_set_modified(const struct hr_file *file, int64_t modified_ns,
                                                 struct hr_fault *fault);

/* `file`, empty so far, shares all blocks of `source` from now on and takes no room of its own until one of the two is
 * changed. HR_UNSUPPORTED where the filesystem cannot. */
HR_MUST_USE enum hr_status hr__file_share(const struct hr_file *file, const struct hr_file *source,
                                          struct hr_fault *fault);

/* Data and size durable on the device. After a failure the kernel may call the pages clean: the caller must treat the
 * file as lost for good, never call this again and believe it (Rebello et al., USENIX ATC 2020). */
HR_MUST_USE enum hr_status hr__file_sync(const struct hr_file *file, struct hr_fault *fault);
/* Is the file, opened direct, never read from the page cache, by the filesystem's own word (STATX_DIOALIGN)? Some take
 * a direct open and answer from the cache for a file that is encrypted, compressed or kept in its inode. False where
 * the filesystem or the system does not say. */
bool hr__file_is_direct_for_sure(const struct hr_file *file);
/* Tells the kernel we will read all of it, in order. Best effort. */
void hr__file_will_stream(const struct hr_file *file);
/* Has the kernel send what was written of it to the device, and does not wait. Best effort. */
void hr__file_start_writing(const struct hr_file *file);
/* Asks the page cache to forget the file. Says nothing about success: see hr__file_resident_bytes. */
void hr__file_drop_cache(const struct hr_file *file);
/* Bytes of the file's first `size` that stand in the page cache, by mincore(2). All of them where we are neither its
 * owner nor may write to it. HR_UNSUPPORTED, and nothing in the fault, where the system cannot tell. */
HR_MUST_USE enum hr_status hr__file_resident_bytes(uint64_t *out, const struct hr_file *file, uint64_t size,
                                                   struct hr_fault *fault);

/* The whole of a small file; fails with HR_TOO_LARGE past `ceiling`. *bytes is NUL-terminated, owned by the caller
 * (free). */
HR_MUST_USE enum hr_status hr__file_load(char **bytes, size_t *size, const struct hr_folder *folder, const char *name,
                                         size_t ceiling, const char *shown, struct hr_fault *fault);

/* A new file with this content, durable but for its name: HR_EXISTS when it stands. After a failure what was made of it
 * is there. */
HR_MUST_USE enum hr_status hr__file_write_new(const struct hr_folder *folder, const char *name, const void *bytes,
                                              size_t size, const char *shown, struct hr_fault *fault);

/* Bytes one thread has really fetched from block devices so far (read_bytes of /proc/thread-self/io): of the thread
 * that opened the count, which keeps it open because it is asked twice a file. */
struct hr_fetch_count {
    int descriptor; /* -1: the system does not count */
};
#define HR_FETCH_COUNT_CLOSED ((struct hr_fetch_count){.descriptor = -1})
void hr__fetch_count_open(struct hr_fetch_count *count);
void hr__fetch_count_close(struct hr_fetch_count *count);
/* False where the system does not count. */
bool hr__fetch_count_read(uint64_t *out, const struct hr_fetch_count *count);

/* errno -> status; shared by the rooms' platform files, nowhere else. */
enum hr_status hr__status_of_errno(int system_error);

#endif
