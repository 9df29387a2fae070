/* SPDX-License-Identifier: ISC */
/* Names of what stands in a folder: another one, a second one. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/fault.h"
#include "base/path.h"
#include "platform/folder.h"
#include "platform/system.h"

/* What is done with the two names, each with the folder it stands in; 0 or an errno. */
typedef int name_change(int from_folder, const char *from, int to_folder, const char *to);

static enum hr_status change(const struct hr_folder *folder, const char *from, const char *to, name_change *do_it,
                             const char *what, struct hr_fault *fault)
{
    struct hr_below source, target = {.folder = -1};
    int error = hr__below_find(&source, folder->descriptor, from);
    if (!error)
        error = hr__below_find(&target, folder->descriptor, to);
    if (!error)
        error = do_it(source.folder, source.name, target.folder, target.name);
    hr__below_release(&source);
    hr__below_release(&target);
    if (!error)
        return HR_OK;
    char *whole = hr__path_join(folder->path, to);
    enum hr_status status = hr__system_fault(fault, error, what, whole ? whole : to);
    free(whole);
    return status;
}

enum hr_status hr__folder_rename(const struct hr_folder *folder, const char *from, const char *to,
                                 struct hr_fault *fault)
{
    return change(folder, from, to, hr__variant_rename, "cannot rename to", fault);
}

static int replace_name(int from_folder, const char *from, int to_folder, const char *to)
{
    return renameat(from_folder, from, to_folder, to) == 0 ? 0 : errno;
}

enum hr_status hr__folder_replace(const struct hr_folder *folder, const char *from, const char *to,
                                  struct hr_fault *fault)
{
    return change(folder, from, to, replace_name, "cannot put in place", fault);
}

enum hr_status hr__folder_sync_name(const struct hr_folder *folder, const char *path, struct hr_fault *fault)
{
    struct hr_file file;
    char *above = strndup(path, hr__path_folder_length(path));
    enum hr_status status = above ? hr__file_open(&file, folder, path, HR_FILE_READ, false, path, fault)
                                  : hr__fault_nomem(fault, "the name of a file");
    if (!status) {
        status = hr__file_sync(&file, fault);
        (void)hr__file_close(&file, NULL);
    }
    if (!status)
        status = hr__folder_sync(folder, above, fault);
    free(above);
    return status;
}

enum hr_status hr__folder_put(const struct hr_folder *folder, const char *path, const void *bytes, size_t size,
                              struct hr_fault *fault)
{
    char *part = hr__path_part(path);
    enum hr_status status = part ? HR_OK : hr__fault_nomem(fault, "the name of a file");
    if (!status) {
        hr__folder_remove(folder, part, NULL);
        status = hr__file_write_new(folder, part, bytes, size, path, fault);
        if (!status)
            status = hr__folder_replace(folder, part, path, fault);
        if (status)
            hr__folder_remove(folder, part, NULL);
    }
    if (!status)
        status = hr__folder_sync_name(folder, path, fault);
    free(part);
    return status;
}

static int link_name(int from_folder, const char *from, int to_folder, const char *to)
{
    return linkat(from_folder, from, to_folder, to, 0) == 0 ? 0 : errno;
}

enum hr_status hr__folder_link(const struct hr_folder *folder, const char *from, const char *to, struct hr_fault *fault)
{
    return change(folder, from, to, link_name, "cannot link to", fault);
}

/* Linux says EPERM for a filesystem without hard links, FUSE ENOSYS. (Of a file of somebody else's it may say EPERM
 * too, so the file is one of ours.) */
static int try_links(bool *out, int folder)
{
    static const char first[] = ".links.part", second[] = ".links.second.part";
    unlinkat(folder, first, 0); /* of a run that died */
    unlinkat(folder, second, 0);
    int file = openat(folder, first, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    int error = file < 0 ? errno : 0;
    if (!error) {
        close(file);
        error = link_name(folder, first, folder, second);
        *out = !error;
        unlinkat(folder, first, 0);
        unlinkat(folder, second, 0);
    }
    return error == EPERM || error == EOPNOTSUPP || error == ENOSYS ? 0 : error;
}

enum hr_status hr__folder_has_links(bool *out, const struct hr_folder *folder, const char *path, struct hr_fault *fault)
{
    struct hr_folder below;
    enum hr_status status = hr__folder_open_below(&below, folder, path, fault);
    *out = false;
    int error = status ? 0 : try_links(out, below.descriptor);
    if (error)
        status = hr__system_fault(fault, error, "cannot make a file in", below.path);
    hr__folder_close(&below);
    return status;
}
