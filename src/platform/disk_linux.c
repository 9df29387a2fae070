/* SPDX-License-Identifier: ISC */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "base/path.h"
#include "platform/block.h"
#include "platform/superblock.h"

enum { DEPTH_MAX = 16 };

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

static void identify_by_partitions(struct hr_disk *disk, const struct hr_block *block,
                                   const struct hr_system_roots *roots)
{
    char value[HR_IDENTITY_SIZE];
    unsigned char head[HR_SUPERBLOCK_BYTES];
    if (hr__block_property(value, sizeof value, block, "ID_PART_TABLE_UUID", roots) ||
        (hr__block_head(head, sizeof head, block, roots) && hr__partition_table_id(value, head)))
        set_identity(disk, "partitions", value);
}

static void add_disk(struct hr_volume *volume, const struct hr_block *block, bool is_partitioned,
                     const struct hr_system_roots *roots)
{
    char value[4096];
    if (volume->disk_count == HR_DISKS_MAX)
        return;
    struct hr_disk *disk = &volume->disks[volume->disk_count++];
    memcpy(disk->name, block->name, sizeof disk->name);
    disk->is_rotational = hr__block_attribute(value, sizeof value, block, "queue/rotational") && *value == '1';
    disk->is_loop = hr__block_attribute(value, sizeof value, block, "loop/backing_file");
    if (disk->is_loop)
        set_identity(disk, "file", value);
    else if (!identify_by_serial(disk, block, roots) && is_partitioned)
        identify_by_partitions(disk, block, roots);
}

static bool is_known(const struct hr_volume *volume, const char *name)
{
    for (size_t i = 0; i < volume->disk_count; i++) {
        if (strcmp(volume->disks[i].name, name) == 0)
            return true;
    }
    return false;
}

static void walk(struct hr_volume *volume, const struct hr_block *block, bool is_partitioned, int depth,
                 const struct hr_system_roots *roots);

static void walk_to(struct hr_volume *volume, const char *folder, const char *name, bool is_partitioned, int depth,
                    const struct hr_system_roots *roots)
{
    struct hr_block block;
    if (depth < DEPTH_MAX && hr__block_open(&block, folder, name)) {
        walk(volume, &block, is_partitioned, depth + 1, roots);
        hr__block_release(&block);
    }
}

/* Device-mapper and md list what they are made of; false when there is nothing. */
static bool walk_slaves(struct hr_volume *volume, const char *slaves, bool is_partitioned, int depth,
                        const struct hr_system_roots *roots)
{
    bool any = false;
    DIR *stream = opendir(slaves);
    for (const struct dirent *entry; stream && (entry = readdir(stream));) {
        if (entry->d_name[0] != '.') {
            any = true;
            walk_to(volume, slaves, entry->d_name, is_partitioned, depth, roots);
        }
    }
    if (stream)
        closedir(stream);
    return any;
}

static void walk(struct hr_volume *volume, const struct hr_block *block, bool is_partitioned, int depth,
                 const struct hr_system_roots *roots)
{
    char value[16];
    char *slaves = hr__path_join(block->folder, "slaves");
    if (hr__block_attribute(value, sizeof value, block, "partition"))
        walk_to(volume, block->folder, "..", true, depth, roots);
    else if (slaves && !walk_slaves(volume, slaves, is_partitioned, depth, roots) && !is_known(volume, block->name))
        add_disk(volume, block, is_partitioned, roots);
    free(slaves);
}

void hr__block_disks(struct hr_volume *volume, const struct hr_block *block, const struct hr_system_roots *roots)
{
    volume->disk_count = 0;
    walk(volume, block, false, 0, roots);
}
