/* SPDX-License-Identifier: ISC */
/* Private to this room: what its files share, and the seam that *_linux.c and *_portable.c fill.
 *
 * Calls that answer `int` give 0 or the system's error number, so that no errno has to live across another call. */
#ifndef HR_PLATFORM_SYSTEM_H
#define HR_PLATFORM_SYSTEM_H

#include <stdbool.h>
#include <sys/stat.h>
#include <sys/types.h>

#include <headrace/status.h>

#include "platform/file.h"
#include "platform/volume.h"

/* "WHAT PATH: what the system said"; returns the status of `system_error`. */
enum hr_status hr__system_fault(struct hr_fault *fault, int system_error, const char *what, const char *path);
struct hr_file_facts hr__facts_of_stat(const struct stat *stat);

/* Opens `path` below the descriptor `folder`, "" being the folder itself, through no link and no "..". `flags` are
 * openat's; close-on-exec is added. ELOOP: a link stands in the way. EINVAL: the path could leave the folder. */
int hr__below_open(int *descriptor, int folder, const char *path, int flags, mode_t mode);

/* Where the last component of a path stands. */
struct hr_below {
    int folder;
    bool owns_folder;
    const char *name; /* points into the path */
};
/* Release it in any case. */
int hr__below_find(struct hr_below *below, int folder, const char *path);
void hr__below_release(struct hr_below *below);

/* As hr__below_open, one openat a component: for any system, and for paths longer than PATH_MAX. */
int hr__below_walk(int *descriptor, int folder, const char *path, int flags, mode_t mode);
/* A plain rename after a check that nothing stands at `to`. */
int hr__rename_checked(int from_folder, const char *from, int to_folder, const char *to);

/* ---- The seam ---- */

/* `path` is known to stay inside. */
int hr__variant_open(int *descriptor, int folder, const char *path, int flags, mode_t mode);
/* EEXIST when `to` stands. */
int hr__variant_rename(int from_folder, const char *from, int to_folder, const char *to);
/* Flags for opening a file to read that leave no mark on it and, with `direct`, bypass the page cache; 0: none. Not
 * every file takes them (EPERM, EINVAL): it is then opened without, and asked one by one. */
int hr__variant_reading_flags(bool direct);
/* Makes reads and writes bypass the page cache; false where the filesystem does not take that. */
bool hr__variant_go_direct(int descriptor);
void hr__variant_leave_direct(int descriptor);
/* The page cache begins to write this out (size 0: to the end) and nobody waits; a failure shows in the sync. */
void hr__variant_start_writing(int descriptor, uint64_t offset, size_t size);
/* Reading leaves no mark on what is read, where the system lets us. */
void hr__variant_keep_access_time(int descriptor);
/* Mount point, source, type, label, identity ("" when there is none) and disks; `device` is set already. */
enum hr_status hr__variant_volume(struct hr_volume *volume, const char *resolved, const struct hr_system_roots *roots,
                                  struct hr_fault *fault);
/* EOPNOTSUPP where blocks cannot be shared. */
int hr__variant_share(int descriptor, int source);
/* The whole pages of this memory, which were not touched yet, are to lie together in large ones. Best effort. */
void hr__variant_prefer_large_pages(void *memory, size_t size);
/* The calling thread's name in debuggers. */
void hr__variant_name_thread(const char *name);

#endif
