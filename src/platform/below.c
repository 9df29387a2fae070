/* SPDX-License-Identifier: ISC */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/path.h"
#include "platform/system.h"

int hr__below_open(int *descriptor, int folder, const char *path, int flags, mode_t mode)
{
    if (*path && !hr__path_is_inside(path))
        return EINVAL;
    return hr__variant_open(descriptor, folder, *path ? path : ".", flags | O_NOFOLLOW | O_CLOEXEC, mode);
}

static int open_component(int *descriptor, int folder, const char *name, int flags, mode_t mode)
{
    do
        *descriptor = openat(folder, name, flags, mode);
    while (*descriptor < 0 && errno == EINTR);
    int error = *descriptor < 0 ? errno : 0;
    /* Asked for a folder and no link, systems differ in which of the two they miss first. */
    struct stat stat;
    if (error == ENOTDIR && fstatat(folder, name, &stat, AT_SYMLINK_NOFOLLOW) == 0 && S_ISLNK(stat.st_mode))
        error = ELOOP;
    return error;
}

int hr__below_walk(int *descriptor, int folder, const char *path, int flags, mode_t mode)
{
    char *components = strdup(path);
    if (!components)
        return ENOMEM;
    int at = folder, next = -1, error = 0;
    char *name = components;
    for (char *slash; !error && (slash = strchr(name, '/')); name = slash + 1) {
        *slash = '\0';
        error = open_component(&next, at, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC, 0);
        if (at != folder)
            close(at);
        at = next;
    }
    if (!error)
        error = open_component(descriptor, at, name, flags, mode);
    if (at != folder && at >= 0)
        close(at);
    free(components);
    return error;
}

int hr__below_find(struct hr_below *below, int folder, const char *path)
{
    *below = (struct hr_below){.folder = folder, .name = hr__path_last(path)};
    if (!hr__path_is_inside(path))
        return EINVAL;
    if (below->name == path)
        return 0;
    char *above = strndup(path, hr__path_folder_length(path));
    int error = above ? hr__below_open(&below->folder, folder, above, O_RDONLY | O_DIRECTORY, 0) : ENOMEM;
    below->owns_folder = !error;
    free(above);
    return error;
}

void hr__below_release(struct hr_below *below)
{
    if (below->owns_folder)
        close(below->folder);
    *below = (struct hr_below){.folder = -1};
}

int hr__rename_checked(int from_folder, const char *from, int to_folder, const char *to)
{
    struct stat stat;
    if (fstatat(to_folder, to, &stat, AT_SYMLINK_NOFOLLOW) == 0)
        return EEXIST;
    if (errno != ENOENT)
        return errno;
    return renameat(from_folder, from, to_folder, to) == 0 ? 0 : errno;
}
