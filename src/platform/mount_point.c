/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/path.h"
#include "platform/mount.h"

static bool is_on(const char *path, uint64_t device)
{
    struct stat facts;
    return stat(path, &facts) == 0 && (uint64_t)facts.st_dev == device;
}

char *hr__mount_point_above(const char *path, uint64_t device)
{
    char *point = strdup(path);
    char *above = point ? strdup(point) : NULL;
    while (above && strcmp(above, "/") != 0) {
        size_t length = hr__path_folder_length(above);
        above[length ? length : 1] = '\0';
        if (!is_on(above, device))
            break;
        memcpy(point, above, strlen(above) + 1);
    }
    if (!above) {
        free(point);
        point = NULL;
    }
    free(above);
    return point;
}
