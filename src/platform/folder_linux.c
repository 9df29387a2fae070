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
 * be too long for it, a rename next to the path may disturb it (EAGAIN), and of a link where a folder was asked for it
 * says ENOTDIR: then we walk. */
static bool asks_for_walk(int error)
{
    return error == ENOSYS || error == EPERM || error == ENAMETOOLONG || error == EAGAIN || error == ENOTDIR;
}

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
    return asks_for_walk(error) ? hr__below_walk(descriptor, folder, path, flags, mode) : error;
}

/* FUSE exFAT answers EINVAL to RENAME_NOREPLACE. */
int hr__variant_rename(int from_folder, const char *from, int to_folder, const char *to)
{
    int error = renameat2(from_folder, from, to_folder, to, RENAME_NOREPLACE) == 0 ? 0 : errno;
    if (error == EINVAL || error == ENOSYS)
        return hr__rename_checked(from_folder, from, to_folder, to);
    return error;
}

bool hr__folder_can_sync_volume(void)
{
    return true;
}

/* On FAT and NTFS syncfs does not empty the drive's own cache, which fsync does of anything. */
enum hr_status hr__folder_sync_volume(const struct hr_folder *folder, struct hr_fault *fault)
{
    if (syncfs(folder->descriptor) != 0 || fsync(folder->descriptor) != 0)
        return hr__system_fault(fault, errno, "cannot make durable the volume of", folder->path);
    return HR_OK;
}
