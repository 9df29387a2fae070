/* SPDX-License-Identifier: ISC */
#include "platform/folder.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#include "base/fault.h"
#include "base/path.h"
#include "platform/system.h"

/* A fault about `path` below `folder`, shown whole. */
static enum hr_status fault_below(struct hr_fault *fault, int error, const char *what, const struct hr_folder *folder,
                                  const char *path)
{
    char *whole = hr__path_join(folder->path, path);
    enum hr_status status = hr__system_fault(fault, error, what, whole ? whole : path);
    free(whole);
    return status;
}

enum hr_status hr__folder_open(struct hr_folder *folder, const char *path, struct hr_fault *fault)
{
    *folder = HR_FOLDER_CLOSED;
    folder->path = strdup(path);
    if (!folder->path)
        return hr__fault_nomem(fault, "the path of a folder");
    folder->descriptor = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder->descriptor >= 0)
        return HR_OK;
    enum hr_status status = hr__system_fault(fault, errno, "cannot open the folder", path);
    hr__folder_close(folder);
    return status;
}

enum hr_status hr__folder_open_below(struct hr_folder *folder, const struct hr_folder *parent, const char *path,
                                     struct hr_fault *fault)
{
    *folder = HR_FOLDER_CLOSED;
    folder->path = hr__path_join(parent->path, path);
    if (!folder->path)
        return hr__fault_nomem(fault, "the path of a folder");
    int error = hr__below_open(&folder->descriptor, parent->descriptor, path, O_RDONLY | O_DIRECTORY, 0);
    if (!error)
        return HR_OK;
    enum hr_status status = hr__system_fault(fault, error, "cannot open the folder", folder->path);
    folder->descriptor = -1;
    hr__folder_close(folder);
    return status;
}

void hr__folder_close(struct hr_folder *folder)
{
    if (folder->descriptor >= 0)
        close(folder->descriptor);
    free(folder->path);
    *folder = HR_FOLDER_CLOSED;
}

/* Makes `name` in the open folder `at` where it is missing and opens it. */
static int enter(int *descriptor, int at, const char *name)
{
    if (mkdirat(at, name, 0777) != 0 && errno != EEXIST)
        return errno;
    return hr__below_open(descriptor, at, name, O_RDONLY | O_DIRECTORY, 0);
}

static int make_each(int folder, char *path)
{
    int at = folder, next = -1, error = 0;
    for (char *name = path, *end; !error && name; name = end) {
        end = strchr(name, '/');
        if (end)
            *end++ = '\0';
        error = enter(&next, at, name);
        if (at != folder)
            close(at);
        at = error ? folder : next;
    }
    if (at != folder)
        close(at);
    return error;
}

enum hr_status hr__folder_make(const struct hr_folder *folder, const char *path, struct hr_fault *fault)
{
    int standing = -1;
    int error = hr__below_open(&standing, folder->descriptor, path, O_RDONLY | O_DIRECTORY, 0);
    if (!error) {
        close(standing);
    } else if (error == ENOENT) {
        char *components = strdup(path);
        error = components ? make_each(folder->descriptor, components) : ENOMEM;
        free(components);
    }
    return error ? fault_below(fault, error, "cannot make the folder", folder, path) : HR_OK;
}

enum hr_status hr__folder_make_new(const struct hr_folder *folder, const char *path, struct hr_fault *fault)
{
    struct hr_below below;
    int error = hr__below_find(&below, folder->descriptor, path);
    if (!error && mkdirat(below.folder, below.name, 0777) != 0)
        error = errno;
    hr__below_release(&below);
    return error ? fault_below(fault, error, "cannot make the folder", folder, path) : HR_OK;
}

/* A folder that stands may refuse mkdir with anything (read-only, no right): what counts is that it stands. */
static int make_standing(const char *path)
{
    struct stat found;
    int error = mkdir(path, 0777) == 0 ? 0 : errno;
    return error && stat(path, &found) == 0 && S_ISDIR(found.st_mode) ? 0 : error;
}

enum hr_status hr__folder_make_path(const char *path, struct hr_fault *fault)
{
    char *prefix = strdup(path);
    if (!prefix)
        return hr__fault_nomem(fault, "the path of a folder");
    int error = 0;
    for (char *slash = prefix; *slash && !error && (slash = strchr(slash + 1, '/'));) {
        *slash = '\0';
        error = make_standing(prefix);
        *slash = '/';
    }
    if (!error)
        error = make_standing(path);
    free(prefix);
    return error ? hr__system_fault(fault, error, "cannot make the folder", path) : HR_OK;
}

enum hr_status hr__folder_facts(struct hr_file_facts *out, const struct hr_folder *folder, const char *path,
                                struct hr_fault *fault)
{
    struct stat stat;
    struct hr_below below;
    int error = hr__below_find(&below, folder->descriptor, path);
    if (!error && fstatat(below.folder, below.name, &stat, AT_SYMLINK_NOFOLLOW) != 0)
        error = errno;
    hr__below_release(&below);
    if (error)
        return fault_below(fault, error, "cannot ask about", folder, path);
    *out = hr__facts_of_stat(&stat);
    return HR_OK;
}

static int remove_entry(int folder, const char *name)
{
    struct stat stat;
    if (fstatat(folder, name, &stat, AT_SYMLINK_NOFOLLOW) != 0)
        return errno;
    return unlinkat(folder, name, S_ISDIR(stat.st_mode) ? AT_REMOVEDIR : 0) == 0 ? 0 : errno;
}

enum hr_status hr__folder_remove(const struct hr_folder *folder, const char *path, struct hr_fault *fault)
{
    struct hr_below below;
    int error = hr__below_find(&below, folder->descriptor, path);
    if (!error)
        error = remove_entry(below.folder, below.name);
    hr__below_release(&below);
    return error ? fault_below(fault, error, "cannot remove", folder, path) : HR_OK;
}

enum hr_status hr__folder_sync(const struct hr_folder *folder, const char *path, struct hr_fault *fault)
{
    int descriptor = -1;
    int error = hr__below_open(&descriptor, folder->descriptor, path, O_RDONLY | O_DIRECTORY, 0);
    if (!error) {
        error = fsync(descriptor) == 0 ? 0 : errno;
        close(descriptor);
    }
    return error ? fault_below(fault, error, "cannot make durable the folder", folder, path) : HR_OK;
}

enum hr_status hr__folder_sync_way(const struct hr_folder *folder, const char *path, const char *since,
                                   struct hr_fault *fault)
{
    char *way = strdup(path);
    enum hr_status status = way ? HR_OK : hr__fault_nomem(fault, "the path of a folder");
    for (bool is_top = false; !status && !is_top; way[hr__path_folder_length(way)] = '\0') {
        is_top = !*way;
        if (since && (is_top || hr__path_contains(way, since)))
            break;
        status = hr__folder_sync(folder, way, fault);
    }
    free(way);
    return status;
}

enum hr_status hr__path_resolve(char **out, const char *path, struct hr_fault *fault)
{
    char *resolved = realpath(path, NULL);
    if (!resolved)
        return hr__system_fault(fault, errno, "cannot find", path);
    *out = resolved;
    return HR_OK;
}

enum hr_status hr__folder_may_fill(const char *path)
{
    return faccessat(AT_FDCWD, path, W_OK | X_OK, AT_EACCESS) == 0 ? HR_OK : hr__status_of_errno(errno);
}

enum hr_status hr__folder_lock(const struct hr_folder *folder, struct hr_fault *fault)
{
    if (flock(folder->descriptor, LOCK_EX | LOCK_NB) == 0)
        return HR_OK;
    if (errno == EWOULDBLOCK)
        return hr__fault_path(fault, HR_BUSY, 0, "another run is working in", folder->path);
    return hr__system_fault(fault, errno, "cannot lock", folder->path);
}
