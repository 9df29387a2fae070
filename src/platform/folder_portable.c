/* SPDX-License-Identifier: ISC */
#include "platform/folder.h"

#include <errno.h>
#include <unistd.h>

#include "platform/system.h"

int hr__variant_open(int *descriptor, int folder, const char *path, int flags, mode_t mode)
{
    return hr__below_walk(descriptor, folder, path, flags, mode);
}

/* Folders, and files of volumes without hard links, take no second name. */
static bool takes_no_link(int error)
{
    return error == EPERM || error == EOPNOTSUPP || error == ENOSYS || error == EMLINK;
}

/* A second name replaces nothing. Where there can be none a check goes before. */
int hr__variant_rename(int from_folder, const char *from, int to_folder, const char *to)
{
    if (linkat(from_folder, from, to_folder, to, 0) == 0)
        return unlinkat(from_folder, from, 0) == 0 ? 0 : errno;
    int error = errno;
    return takes_no_link(error) ? hr__rename_checked(from_folder, from, to_folder, to) : error;
}

/* sync() neither waits for sure nor tells of failures. */
bool hr__folder_can_sync_volume(void)
{
    return false;
}

enum hr_status hr__folder_sync_volume(const struct hr_folder *folder, struct hr_fault *fault)
{
    (void)folder, (void)fault;
    return HR_UNSUPPORTED;
}
