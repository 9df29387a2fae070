/* SPDX-License-Identifier: ISC */
#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <headrace/name.h>

#include "base/path.h"
#include "platform/block.h"
#include "platform/fs_kind.h"
#include "platform/superblock.h"

enum { DEPTH_MAX = 16 };

/* The way down from a volume to its disks. */
struct descent {
    struct hr_volume *volume;
    const struct hr_system_roots *roots;
    int depth;
    bool is_partitioned; /* a partition was passed */
    bool is_filled;      /* nothing but the volume can be on what is reached */
};

/* "KIND:VALUE". Of a value too long its end is kept: paths and identifiers differ there. */
static void set_identity(struct hr_disk *disk, const char *kind, const char *value)
{
    int used = snprintf(disk->identity, sizeof disk->identity, "%s:", kind);
    size_t room = sizeof disk->identity - (size_t)used, size = strlen(value);
    while (hr_escape_name(disk->identity + used, room, value, size) >= room) {
        value++;
        size--;
    }
}

/* What the disk itself answers. A reader's serial says nothing about the card in it, so removable ones are not asked.
 */
static bool identify_by_serial(struct hr_disk *disk, const struct hr_block *block, const struct hr_system_roots *roots)
{
    static const char *const attributes[] = {"wwid", "device/wwid", "device/cid", "serial", "device/serial"};
    char value[HR_IDENTITY_SIZE];
    bool found = false;
    for (size_t i = 0; !found && i < sizeof attributes / sizeof *attributes; i++)
        found = hr__block_attribute(value, sizeof value, block, attributes[i]);
    if (!found) {
        bool removable = hr__block_attribute(value, sizeof value, block, "removable") && strcmp(value, "1") == 0;
        found = !removable && hr__block_property(value, sizeof value, block, "ID_SERIAL", roots);
    }
    if (found)
        set_identity(disk, "serial", value);
    return found;
}

static bool identify_by_partitions(struct hr_disk *disk, const struct hr_block *block,
                                   const struct hr_system_roots *roots)
{
    char value[HR_IDENTITY_SIZE];
    unsigned char head[HR_SUPERBLOCK_BYTES];
    bool found = hr__block_property(value, sizeof value, block, "ID_PART_TABLE_UUID", roots) ||
                 (hr__block_head(head, sizeof head, block, roots) && hr__partition_table_id(value, head));
    if (found)
        set_identity(disk, "partitions", value);
    return found;
}

/* zram, nbd, ZFS volumes: what is below them is not told. */
static bool is_virtual(const struct hr_block *block)
{
    return strstr(block->folder, "/devices/virtual/block/") != NULL;
}

/* The volume's own UUID names a disk only where no other volume can be on it. */
static void identify_disk(struct hr_disk *disk, const struct hr_block *block, struct descent at)
{
    bool found = is_virtual(block) || identify_by_serial(disk, block, at.roots) ||
                 (at.is_partitioned && identify_by_partitions(disk, block, at.roots));
    if (!found && at.is_filled)
        memcpy(disk->identity, at.volume->identity, sizeof disk->identity);
}

/* ".../usb2/2-1/2-1.4/2-1.4:1.0/host6/...": the last component that is a USB interface ("2-1.4:1.0") stands in its
 * device's folder. Of a path too long its end is kept. */
static void name_link(struct hr_disk *disk, const struct hr_block *block)
{
    const char *path = block->folder, *interface = NULL;
    for (const char *slash = strchr(path, '/'); slash; slash = strchr(slash + 1, '/')) {
        size_t digits = strspn(slash + 1, "0123456789");
        size_t name = digits && slash[1 + digits] == '-' ? strspn(slash + 1, "0123456789-.") : 0;
        if (name && slash[1 + name] == ':')
            interface = slash;
    }
    size_t length = interface ? (size_t)(interface - path) : 0, room = sizeof disk->link - 1;
    memcpy(disk->link, path + (length > room ? length - room : 0), length < room ? length : room);
}

static void add_disk(const struct hr_block *block, struct descent at)
{
    char value[4096];
    struct hr_volume *volume = at.volume;
    if (volume->disk_count == HR_DISKS_MAX) {
        volume->disks_are_known = false;
        return;
    }
    struct hr_disk *disk = &volume->disks[volume->disk_count++];
    memcpy(disk->name, block->name, sizeof disk->name);
    name_link(disk, block);
    disk->has_heads = hr__block_rotation(block, at.roots) == HR_ROTATION_HEADS;
    if (hr__block_attribute(value, sizeof value, block, "loop/backing_file"))
        set_identity(disk, "file", value);
    else
        identify_disk(disk, block, at);
    if (!*disk->identity)
        volume->disks_are_known = false;
}

static bool is_known(const struct hr_volume *volume, const char *name)
{
    for (size_t i = 0; i < volume->disk_count; i++) {
        if (strcmp(volume->disks[i].name, name) == 0)
            return true;
    }
    return false;
}

static void walk(const struct hr_block *block, struct descent at);

static void walk_to(const char *folder, const char *name, struct descent at)
{
    struct hr_block block;
    if (at.depth == DEPTH_MAX || !hr__block_open(&block, folder, name)) {
        at.volume->disks_are_known = false;
        return;
    }
    at.depth++;
    walk(&block, at);
    hr__block_release(&block);
}

/* False when the folder lists nothing. */
static bool walk_each(const char *folder, struct descent at)
{
    bool any = false;
    DIR *stream = opendir(folder);
    for (const struct dirent *entry; stream && (entry = readdir(stream));) {
        if (entry->d_name[0] != '.') {
            any = true;
            walk_to(folder, entry->d_name, at);
        }
    }
    if (stream)
        closedir(stream);
    return any;
}

/* Device-mapper and md list what they are made of; they need not take all of it. */
static bool walk_slaves(const struct hr_block *block, struct descent at)
{
    char *slaves = hr__path_join(block->folder, "slaves");
    at.is_filled = false;
    bool any = slaves && walk_each(slaves, at);
    free(slaves);
    return any;
}

/* Is a partition the only one of its disk? */
static bool is_alone(const struct hr_block *partition)
{
    size_t count = 0;
    char *disk = hr__path_join(partition->folder, "..");
    DIR *stream = disk ? opendir(disk) : NULL;
    for (const struct dirent *entry; stream && (entry = readdir(stream));) {
        char name[sizeof entry->d_name + sizeof "/partition"];
        snprintf(name, sizeof name, "%s/partition", entry->d_name);
        count += faccessat(dirfd(stream), name, F_OK, 0) == 0;
    }
    if (stream)
        closedir(stream);
    free(disk);
    return count == 1;
}

static void walk(const struct hr_block *block, struct descent at)
{
    char value[16];
    if (hr__block_attribute(value, sizeof value, block, "partition")) {
        at.is_partitioned = true;
        at.is_filled = at.is_filled && is_alone(block);
        walk_to(block->folder, "..", at);
    } else if (!walk_slaves(block, at) && !is_known(at.volume, block->name)) {
        add_disk(block, at);
    }
}

static void walk_pool(const struct hr_block *block, struct descent at)
{
    char *devices = hr__block_pool(block, at.volume->fs_type, at.roots);
    if (!devices || !walk_each(devices, at))
        at.volume->disks_are_known = false;
    free(devices);
}

void hr__block_disks(struct hr_volume *volume, const struct hr_block *block, const struct hr_system_roots *roots)
{
    struct descent at = {.volume = volume, .roots = roots, .is_filled = true};
    volume->disk_count = 0;
    volume->disks_are_known = true;
    if (hr__fs_kind_of(volume->fs_type)->is_pool)
        walk_pool(block, at);
    else
        walk(block, at);
    if (volume->disk_count == 0)
        volume->disks_are_known = false;
}
