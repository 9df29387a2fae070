/* SPDX-License-Identifier: ISC */
#include "platform/sysfs.h"

#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/checked.h"
#include "base/path.h"

size_t hr__sysfs_head(void *bytes, size_t size, const char *folder, const char *name)
{
    char *path = hr__path_join(folder, name);
    int descriptor = path ? open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK) : -1;
    ssize_t got = descriptor >= 0 ? read(descriptor, bytes, size) : -1;
    if (descriptor >= 0)
        close(descriptor);
    free(path);
    return got > 0 ? (size_t)got : 0;
}

bool hr__sysfs_line(char *out, size_t out_size, const char *folder, const char *name)
{
    size_t size = hr__sysfs_head(out, out_size - 1, folder, name), start = 0;
    while (size > 0 && strchr(" \n", out[size - 1]))
        size--;
    while (start < size && out[start] == ' ')
        start++;
    memmove(out, out + start, size - start);
    out[size - start] = '\0';
    return size > start;
}

double hr__sysfs_number(const char *folder, const char *name)
{
    char line[64];
    double number = 0;
    if (!hr__sysfs_line(line, sizeof line, folder, name))
        return 0;
    line[strcspn(line, " ")] = '\0';
    return hr__parse_decimal(&number, line, 1e9) ? number : 0;
}
