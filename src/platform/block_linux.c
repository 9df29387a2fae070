/* SPDX-License-Identifier: ISC */
#include "platform/block.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/path.h"

/* Up to `size` bytes of the file at `folder`/`name`, links followed: these trees are the system's own. */
static size_t read_head(void *bytes, size_t size, const char *folder, const char *name)
{
    char *path = hr__path_join(folder, name);
    int descriptor = path ? open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK) : -1;
    ssize_t got = descriptor >= 0 ? read(descriptor, bytes, size) : -1;
    if (descriptor >= 0)
        close(descriptor);
    free(path);
    return got > 0 ? (size_t)got : 0;
}

bool hr__block_open(struct hr_block *out, const char *folder, const char *name)
{
    char *path = hr__path_join(folder, name);
    *out = (struct hr_block){.folder = path ? realpath(path, NULL) : NULL};
    free(path);
    if (!out->folder)
        return false;
    snprintf(out->name, sizeof out->name, "%s", hr__path_last(out->folder));
    (void)hr__block_attribute(out->number, sizeof out->number, out, "dev");
    return true;
}

void hr__block_release(struct hr_block *block)
{
    free(block->folder);
    *block = (struct hr_block){.folder = NULL};
}

static bool find_by_number(struct hr_block *out, const struct hr_mount *mount, const struct hr_system_roots *roots)
{
    char name[64];
    snprintf(name, sizeof name, "dev/block/%u:%u", mount->major, mount->minor);
    return mount->major != 0 && hr__block_open(out, roots->sys, name);
}

/* FUSE and filesystems of many devices have a number of their own; their source may still name a device, or a link to
 * one. */
static bool find_by_source(struct hr_block *out, const struct hr_mount *mount, const struct hr_system_roots *roots)
{
    static const char dev[] = "/dev/";
    if (strncmp(mount->source, dev, sizeof dev - 1) != 0)
        return false;
    char *node = hr__path_join(roots->dev, mount->source + sizeof dev - 1);
    char *resolved = node ? realpath(node, NULL) : NULL;
    char *name = hr__path_join("class/block", hr__path_last(resolved ? resolved : mount->source));
    bool found = name && hr__block_open(out, roots->sys, name);
    free(name);
    free(resolved);
    free(node);
    return found;
}

bool hr__block_find(struct hr_block *out, const struct hr_mount *mount, const struct hr_system_roots *roots)
{
    return find_by_number(out, mount, roots) || find_by_source(out, mount, roots);
}

bool hr__block_attribute(char *out, size_t out_size, const struct hr_block *block, const char *name)
{
    size_t size = read_head(out, out_size - 1, block->folder, name), start = 0;
    while (size > 0 && strchr(" \n", out[size - 1]))
        size--;
    while (start < size && out[start] == ' ')
        start++;
    memmove(out, out + start, size - start);
    out[size - start] = '\0';
    return size > start;
}

bool hr__block_property(char *out, size_t out_size, const struct hr_block *block, const char *key,
                        const struct hr_system_roots *roots)
{
    char name[64], text[16384], line[64];
    snprintf(name, sizeof name, "udev/data/b%s", block->number);
    size_t size = *block->number ? read_head(text, sizeof text - 1, roots->run, name) : 0;
    text[size] = '\0';
    snprintf(line, sizeof line, "\nE:%s=", key);
    const char *found = strstr(text, line);
    if (!found)
        return false;
    found += strlen(line);
    snprintf(out, out_size, "%.*s", (int)strcspn(found, "\n"), found);
    return *out != '\0';
}

bool hr__block_uuid_link(char *out, size_t out_size, const struct hr_block *block, const struct hr_system_roots *roots)
{
    char *path = hr__path_join(roots->dev, "disk/by-uuid");
    DIR *stream = path ? opendir(path) : NULL;
    bool found = false;
    for (const struct dirent *entry; stream && !found && (entry = readdir(stream));) {
        char target[256];
        ssize_t size = readlinkat(dirfd(stream), entry->d_name, target, sizeof target - 1);
        target[size > 0 ? size : 0] = '\0';
        found = strcmp(hr__path_last(target), block->name) == 0;
        if (found)
            snprintf(out, out_size, "%s", entry->d_name);
    }
    if (stream)
        closedir(stream);
    free(path);
    return found;
}

bool hr__block_head(unsigned char *bytes, size_t size, const struct hr_block *block,
                    const struct hr_system_roots *roots)
{
    return read_head(bytes, size, roots->dev, block->name) == size;
}
