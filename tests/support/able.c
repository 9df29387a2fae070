/* SPDX-License-Identifier: ISC */
/* Asks the build what it can do on this machine, so that a test expects the honest answer of each (able.sh):
 *     able medium    show that bytes came from the medium
 *     able volumes   tell what stands behind a path: filesystem, mount, disks
 * Status 0 or 1. */
#include <string.h>

#include "platform/file.h"
#include "platform/volume.h"

static bool can_show_medium(void)
{
    uint64_t bytes;
    struct hr_fetch_count count;
    hr__fetch_count_open(&count);
    bool can = hr__fetch_count_read(&bytes, &count);
    hr__fetch_count_close(&count);
    return can;
}

static bool can_tell_volumes(void)
{
    struct hr_volume volume;
    if (hr__volume_of(&volume, "/", &hr__system_roots, NULL) != HR_OK)
        return false;
    bool can = strcmp(volume.fs_type, "unknown") != 0;
    hr__volume_finish(&volume);
    return can;
}

int main(int argument_count, char **arguments)
{
    const char *what = argument_count == 2 ? arguments[1] : "";
    if (strcmp(what, "medium") == 0)
        return !can_show_medium();
    return strcmp(what, "volumes") == 0 ? !can_tell_volumes() : 2;
}
