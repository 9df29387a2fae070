/* SPDX-License-Identifier: ISC */
#include "platform/folder.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/openat2.h>
#include <stdio.h>
#include <sys/syscall.h>
#include <unistd.h>

#include "platform/system.h"

/* One call instead of one a component. An old kernel has none (ENOSYS), an old sandbox forbids it (EPERM), a path may
 * be too long for it, and a rename next to the path may disturb it (EAGAIN): then we walk. */
int hr__variant_open(int *descriptor, int folder, const char *path, int flags, mode_t mode)
{
    struct open_how how = {
        .flags = (unsigned)flags,
        .mode = flags & O_CREAT ? mode : 0,
        .resolve = RESOLVE_BENEATH | RESOLVE_NO_SYMLINKS | RESOLVE_NO_MAGICLINKS,
    };
    do
        *descriptor = (int)syscall(SYS_openat2, folder, path, &how, sizeof how);
    while (*descriptor < 0 && errno == EINTR);
    int error = *descriptor < 0 ? errno : 0;
    if (error == ENOSYS || error == EPERM || error == ENAMETOOLONG || error == EAGAIN)
        return hr__below_walk(descriptor, folder, path, flags, mode);
    return error;
}

/* FUSE exFAT answers EINVAL to RENAME_NOREPLACE. */
int hr__variant_rename(int from_folder, const char *from, int to_folder, const char *to)
{
    int error = renameat2(from_folder, from, to_folder, to, RENAME_NOREPLACE) == 0 ? 0 : errno;
    if (error == EINVAL || error == ENOSYS)
        return hr__rename_checked(from_folder, from, to_folder, to);
    return error;
}

enum hr_status hr__folder_sync_volume(const struct hr_folder *folder, struct hr_fault *fault)
{
    if (syncfs(folder->descriptor) != 0)
        return hr__system_fault(fault, errno, "cannot make durable the volume of", folder->path);
    return HR_OK;
}
