/* SPDX-License-Identifier: ISC */
#include "base/path.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/checked.h"

char *hr__path_join(const char *folder, const char *name)
{
    size_t folder_size = strlen(folder), name_size = strlen(name), size;
    bool needs_slash = folder_size && name_size && folder[folder_size - 1] != '/';
    if (!hr__add_size(&size, folder_size, name_size) || !hr__add_size(&size, size, 2))
        return NULL;
    char *joined = malloc(size);
    if (joined) {
        /* NOLINTNEXTLINE(bugprone-not-null-terminated-result): the name behind it ends both */
        memcpy(joined, folder, folder_size);
        joined[folder_size] = '/';
        memcpy(joined + folder_size + needs_slash, name, name_size + 1);
    }
    return joined;
}

const char *hr__path_last(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

size_t hr__path_folder_length(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? (size_t)(slash - path) : 0;
}

static bool is_proper_component(const char *at, size_t size)
{
    return size > 0 && !(size == 1 && at[0] == '.') && !(size == 2 && at[0] == '.' && at[1] == '.');
}

bool hr__path_is_inside(const char *path)
{
    for (;;) {
        size_t size = strcspn(path, "/");
        if (!is_proper_component(path, size))
            return false;
        if (!path[size])
            return true;
        path += size + 1;
    }
}

bool hr__path_contains(const char *outer, const char *inner)
{
    size_t size = strlen(outer);
    if (size > 0 && outer[size - 1] == '/')
        size--;
    return strncmp(outer, inner, size) == 0 && (inner[size] == '/' || inner[size] == '\0');
}

char *hr__path_part(const char *path)
{
    size_t size = strlen(path) + sizeof "..part", above = strlen(path) - strlen(hr__path_last(path));
    char *part = malloc(size);
    if (part)
        snprintf(part, size, "%.*s.%s.part", (int)above, path, path + above);
    return part;
}
