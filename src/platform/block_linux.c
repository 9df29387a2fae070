/* SPDX-License-Identifier: ISC */
#include "platform/block.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/path.h"
#include "platform/fs_kind.h"
#include "platform/sysfs.h"

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

/* FUSE and pools have a number of their own; their source may still name a device, or a link to one. With all others
 * (overlay, tmpfs) it is any word the mounter chose. A list of devices ("/dev/sda:/dev/sdb") names none. */
static bool find_by_source(struct hr_block *out, const struct hr_mount *mount, const struct hr_system_roots *roots)
{
    static const char dev[] = "/dev/";
    bool names_device = hr__fs_is_fuse(mount->fs_type) || hr__fs_kind_of(mount->fs_type)->is_pool;
    if (!names_device || strncmp(mount->source, dev, sizeof dev - 1) != 0)
        return false;
    char *node = hr__path_join(roots->dev, mount->source + sizeof dev - 1);
    char *resolved = node ? realpath(node, NULL) : NULL;
    const char *device = resolved ? hr__path_last(resolved) : mount->source + sizeof dev - 1;
    char *name = strchr(device, '/') ? NULL : hr__path_join("class/block", device);
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
    return hr__sysfs_line(out, out_size, block->folder, name);
}

bool hr__block_property(char *out, size_t out_size, const struct hr_block *block, const char *key,
                        const struct hr_system_roots *roots)
{
    char name[64], text[16384], line[64];
    snprintf(name, sizeof name, "udev/data/b%s", block->number);
    size_t size = *block->number ? hr__sysfs_head(text, sizeof text - 1, roots->run, name) : 0;
    text[size] = '\0';
    snprintf(line, sizeof line, "\nE:%s=", key);
    const char *found = strstr(text, line);
    if (!found)
        return false;
    found += strlen(line);
    snprintf(out, out_size, "%.*s", (int)strcspn(found, "\n"), found);
    return *out != '\0';
}

enum hr_rotation hr__block_rotation(const struct hr_block *block, const struct hr_system_roots *roots)
{
    char value[16];
    if (!hr__block_property(value, sizeof value, block, "ID_ATA_ROTATION_RATE_RPM", roots))
        return HR_ROTATION_UNKNOWN;
    return strcmp(value, "0") == 0 ? HR_ROTATION_NONE : HR_ROTATION_HEADS;
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

/* The folder of `pools` that lists `block` below ENTRY/devices; NULL when it is not that of `entry`. */
static char *pool_devices(const char *pools, const char *entry, const struct hr_block *block)
{
    char *pool = hr__path_join(pools, entry);
    char *devices = pool ? hr__path_join(pool, "devices") : NULL;
    char *member = devices ? hr__path_join(devices, block->name) : NULL;
    bool is_listed = member && access(member, F_OK) == 0;
    free(member);
    free(pool);
    if (is_listed)
        return devices;
    free(devices);
    return NULL;
}

char *hr__block_pool(const struct hr_block *block, const char *fs_type, const struct hr_system_roots *roots)
{
    char *devices = NULL, name[64];
    snprintf(name, sizeof name, "fs/%s", fs_type);
    char *pools = hr__path_join(roots->sys, name);
    DIR *stream = pools ? opendir(pools) : NULL;
    for (const struct dirent *entry; stream && !devices && (entry = readdir(stream));) {
        if (entry->d_name[0] != '.')
            devices = pool_devices(pools, entry->d_name, block);
    }
    if (stream)
        closedir(stream);
    free(pools);
    return devices;
}

bool hr__block_head(unsigned char *bytes, size_t size, const struct hr_block *block,
                    const struct hr_system_roots *roots)
{
    return hr__sysfs_head(bytes, size, roots->dev, block->name) == size;
}
