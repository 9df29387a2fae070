/* SPDX-License-Identifier: ISC */
/* Which mount answers for a path.
 *
 * In a chroot whose root is no mount (a rescue system, a build root) mountinfo has no line for what stands there: then
 * another mount of the same device tells, else the device itself. */
#ifndef HR_PLATFORM_MOUNT_H
#define HR_PLATFORM_MOUNT_H

#include <stdbool.h>
#include <stdint.h>

#include <headrace/status.h>

struct hr_system_roots;

struct hr_mount {
    unsigned major, minor;
    const char *mount_point, *fs_type, *source; /* point into `line`, octal escapes undone */
};
/* `line` is one line of mountinfo, modified in place. False when it is torn. */
bool hr__mount_parse(struct hr_mount *out, char *line);

/* The whole of mountinfo; the caller frees. */
HR_MUST_USE enum hr_status hr__mounts_load(char **text, const struct hr_system_roots *roots, struct hr_fault *fault);
/* The next mount of a text that is modified, torn lines left out; false at its end. `*rest` begins as the text. */
bool hr__mount_next(struct hr_mount *out, char **rest);

/* `mountinfo` is the whole text and is modified; *out points into it. `path` is absolute and resolved, `device` its
 * st_dev. mount_point is NULL when the path is not below it: it is only a mount of the same device. */
bool hr__mount_find(struct hr_mount *out, char *mountinfo, const char *path, uint64_t device);

/* What the system tells of a mount that is not listed: number and type, no source; mount_point is NULL. "unknown" is
 * the type where it has no number we know. */
struct hr_mount hr__mount_unlisted(const char *path, uint64_t device);

/* The highest folder above `path` on the same device. The caller frees; NULL: no memory. */
char *hr__mount_point_above(const char *path, uint64_t device);

#endif
