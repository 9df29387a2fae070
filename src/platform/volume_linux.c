/* SPDX-License-Identifier: ISC */
#include "platform/volume.h"

#include <fcntl.h>
#include <linux/fs.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <headrace/name.h>

#include "base/fault.h"
#include "base/path.h"
#include "platform/block.h"
#include "platform/fs_kind.h"
#include "platform/mount.h"
#include "platform/superblock.h"
#include "platform/system.h"

/* The kernel's own word for a mounted pool. */
static bool take_pool_uuid(char *uuid, size_t size, const struct hr_volume *volume, const struct hr_block *block,
                           const struct hr_system_roots *roots)
{
    bool is_pool = hr__fs_kind_of(volume->fs_type)->is_pool;
    char *devices = is_pool ? hr__block_pool(block, volume->fs_type, roots) : NULL;
    bool found = devices != NULL;
    if (found) {
        devices[hr__path_folder_length(devices)] = '\0';
        snprintf(uuid, size, "%s", hr__path_last(devices));
    }
    free(devices);
    return found;
}

/* by-uuid links and udev's database are for everybody, the superblock for those who may read the device. */
static void identify(struct hr_volume *volume, const struct hr_block *block, const struct hr_system_roots *roots)
{
    char uuid[64] = "", label[64] = "";
    unsigned char head[HR_SUPERBLOCK_BYTES];
    struct hr_superblock superblock;
    bool has_uuid = take_pool_uuid(uuid, sizeof uuid, volume, block, roots) ||
                    hr__block_uuid_link(uuid, sizeof uuid, block, roots) ||
                    hr__block_property(uuid, sizeof uuid, block, "ID_FS_UUID", roots);
    bool has_label = hr__block_property(label, sizeof label, block, "ID_FS_LABEL", roots);
    if ((!has_uuid || !has_label) && hr__block_head(head, sizeof head, block, roots) &&
        hr__superblock_read(&superblock, head)) {
        if (!has_uuid)
            memcpy(uuid, superblock.uuid, sizeof superblock.uuid);
        if (!has_label)
            memcpy(label, superblock.label, sizeof superblock.label);
    }
    if (*uuid) {
        int used = snprintf(volume->identity, sizeof volume->identity, "uuid:");
        hr_escape_name(volume->identity + used, sizeof volume->identity - (size_t)used, uuid, strlen(uuid));
    }
    hr_escape_name(volume->label, sizeof volume->label, label, strlen(label));
}

static enum hr_status take_mount(struct hr_volume *volume, const struct hr_mount *mount, const char *resolved,
                                 const struct hr_system_roots *roots, struct hr_fault *fault)
{
    struct hr_block block;
    volume->mount_point =
        mount->mount_point ? strdup(mount->mount_point) : hr__mount_point_above(resolved, volume->device);
    volume->source = strdup(mount->source);
    if (!volume->mount_point || !volume->source)
        return hr__fault_nomem(fault, "a mount");
    hr_escape_name(volume->fs_type, sizeof volume->fs_type, mount->fs_type, strlen(mount->fs_type));
    if (hr__block_find(&block, mount, roots)) {
        identify(volume, &block, roots);
        hr__block_disks(volume, &block, roots);
        hr__block_release(&block);
    }
    return HR_OK;
}

enum hr_status hr__variant_volume(struct hr_volume *volume, const char *resolved, const struct hr_system_roots *roots,
                                  struct hr_fault *fault)
{
    char *text = NULL;
    struct hr_mount mount;
    enum hr_status status = hr__mounts_load(&text, roots, fault);
    if (status == HR_OK && !hr__mount_find(&mount, text, resolved, volume->device))
        mount = hr__mount_unlisted(resolved, volume->device);
    if (status == HR_OK)
        status = take_mount(volume, &mount, resolved, roots, fault);
    free(text);
    return status;
}

bool hr__volume_drop_device_cache(const struct hr_volume *volume)
{
    int device = volume->source[0] == '/' ? open(volume->source, O_RDONLY | O_CLOEXEC | O_NONBLOCK) : -1;
    bool dropped = device >= 0 && ioctl(device, BLKFLSBUF, 0) == 0;
    if (device >= 0)
        close(device);
    return dropped;
}
