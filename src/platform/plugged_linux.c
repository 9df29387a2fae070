/* SPDX-License-Identifier: ISC */
#include "platform/plugged.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/array.h"
#include "base/checked.h"
#include "base/fault.h"
#include "base/path.h"
#include "base/text.h"
#include "platform/block.h"
#include "platform/mount.h"
#include "platform/sysfs.h"

/* Mount points come out of a text of this size at most. */
enum { MOUNTS_CEILING = 16 << 20 };

struct listing {
    struct hr_plugged *disks;
    size_t count, capacity;
    const struct hr_system_roots *roots;
};

/* ---- One disk ---- */

static bool reads(const struct hr_block *block, const char *name, const char *wanted)
{
    char value[64];
    return hr__block_attribute(value, sizeof value, block, name) && strcmp(value, wanted) == 0;
}

/* Partitions; the single paths to one drive; a drive for discs (SCSI type 5); the parts a built-in MMC boots from. */
static bool is_no_disk(const struct hr_block *block)
{
    char value[16];
    bool is_mmc = strncmp(block->name, "mmcblk", 6) == 0;
    return hr__block_attribute(value, sizeof value, block, "partition") || reads(block, "hidden", "1") ||
           reads(block, "device/type", "5") || (is_mmc && (strstr(block->name, "boot") || strstr(block->name, "rpmb")));
}

static uint64_t size_of(const struct hr_block *block)
{
    enum { SECTOR_BYTES = 512 };
    char value[32];
    uint64_t sectors = 0, bytes = 0;
    return hr__block_attribute(value, sizeof value, block, "size") && hr__parse_u64(&sectors, value, UINT64_MAX) &&
                   hr__multiply_u64(&bytes, sectors, SECTOR_BYTES)
               ? bytes
               : 0;
}

static void describe(struct hr_plugged *disk, const struct hr_block *block, const struct hr_system_roots *roots)
{
    memcpy(disk->name, block->name, sizeof disk->name);
    if (!hr__block_attribute(disk->model, sizeof disk->model, block, "device/model"))
        (void)hr__block_attribute(disk->model, sizeof disk->model, block, "device/name");
    disk->size_bytes = size_of(block);
    disk->is_removable = reads(block, "removable", "1") || reads(block, "device/type", "SD");
    enum hr_rotation rotation = hr__block_rotation(block, roots);
    disk->has_heads = rotation == HR_ROTATION_HEADS;
    disk->is_rotational = disk->has_heads || (rotation == HR_ROTATION_UNKNOWN && reads(block, "queue/rotational", "1"));
    (void)hr__way_of(&disk->way, disk->name, roots);
}

/* What its serial alone tells; a mounted volume of it may tell more. */
static void identify(struct hr_plugged *disk, const struct hr_block *block, const struct hr_system_roots *roots)
{
    struct hr_volume volume = {.fs_type = "unknown"};
    hr__block_disks(&volume, block, roots);
    if (volume.disk_count == 1 && strcmp(volume.disks[0].name, disk->name) == 0)
        memcpy(disk->identity, volume.disks[0].identity, sizeof disk->identity);
}

static enum hr_status add(struct listing *listing, const struct hr_block *block, struct hr_fault *fault)
{
    if (listing->count == HR_PLUGGED_MAX)
        return hr__fault_set(fault, HR_TOO_LARGE, 0, "more than %d disks", HR_PLUGGED_MAX);
    if (!hr__array_reserve(&listing->disks, &listing->capacity, listing->count + 1, sizeof *listing->disks,
                           HR_PLUGGED_MAX))
        return hr__fault_nomem(fault, "the list of disks");
    struct hr_plugged *disk = &listing->disks[listing->count];
    disk->mount_points = strdup("");
    if (!disk->mount_points)
        return hr__fault_nomem(fault, "the list of disks");
    listing->count++;
    describe(disk, block, listing->roots);
    identify(disk, block, listing->roots);
    return HR_OK;
}

static enum hr_status add_all(struct listing *listing, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    char *folder = hr__path_join(listing->roots->sys, "class/block");
    DIR *stream = folder ? opendir(folder) : NULL;
    if (!stream)
        status = folder ? hr__fault_path(fault, HR_UNSUPPORTED, errno, "cannot list devices in", folder)
                        : hr__fault_nomem(fault, "the list of disks");
    for (const struct dirent *entry; stream && status == HR_OK && (entry = readdir(stream));) {
        struct hr_block block;
        if (entry->d_name[0] == '.' || !hr__block_open(&block, folder, entry->d_name))
            continue;
        if (!is_no_disk(&block))
            status = add(listing, &block, fault);
        hr__block_release(&block);
    }
    if (stream)
        closedir(stream);
    free(folder);
    return status;
}

/* ---- What is mounted of it ---- */

static bool append_line(char **lines, const char *line)
{
    struct hr_text text;
    hr__text_init(&text, MOUNTS_CEILING);
    hr__text_printf(&text, "%s%s%s", *lines, **lines ? "\n" : "", line);
    char *joined = hr__text_take(&text);
    if (!joined)
        return false;
    free(*lines);
    *lines = joined;
    return true;
}

/* A disk that tells nothing of itself is known by the volume that fills it. */
static void identify_by_volume(struct hr_plugged *disk, const char *mount_point, const struct hr_system_roots *roots)
{
    struct hr_volume volume;
    if (hr__volume_of(&volume, mount_point, roots, NULL) != HR_OK)
        return;
    for (size_t i = 0; i < volume.disk_count; i++) {
        if (strcmp(volume.disks[i].name, disk->name) == 0)
            memcpy(disk->identity, volume.disks[i].identity, sizeof disk->identity);
    }
    hr__volume_finish(&volume);
}

static bool note_mount(struct listing *listing, const struct hr_disk *on, const char *mount_point)
{
    for (size_t i = 0; i < listing->count; i++) {
        struct hr_plugged *disk = &listing->disks[i];
        if (strcmp(disk->name, on->name) != 0)
            continue;
        if (!*disk->identity)
            memcpy(disk->identity, on->identity, sizeof disk->identity);
        if (!*disk->identity)
            identify_by_volume(disk, mount_point, listing->roots);
        return append_line(&disk->mount_points, mount_point);
    }
    return true;
}

/* By what sysfs says of the device: the volume itself is asked only where nothing else tells its disk. */
static bool note_volume(struct listing *listing, const struct hr_mount *mount)
{
    struct hr_block block;
    struct hr_volume volume = {.disk_count = 0};
    bool has_memory = true;
    if (!hr__block_find(&block, mount, listing->roots))
        return true;
    snprintf(volume.fs_type, sizeof volume.fs_type, "%s", mount->fs_type);
    hr__block_disks(&volume, &block, listing->roots);
    hr__block_release(&block);
    for (size_t i = 0; has_memory && i < volume.disk_count; i++)
        has_memory = note_mount(listing, &volume.disks[i], mount->mount_point);
    return has_memory;
}

static enum hr_status note_mounts(struct listing *listing, struct hr_fault *fault)
{
    char *text = NULL;
    struct hr_mount mount;
    bool has_memory = true;
    enum hr_status status = hr__mounts_load(&text, listing->roots, fault);
    if (status != HR_OK)
        return status;
    for (char *rest = text; has_memory && hr__mount_next(&mount, &rest);)
        has_memory = note_volume(listing, &mount);
    free(text);
    return has_memory ? HR_OK : hr__fault_nomem(fault, "the list of mounts");
}

/* ---- The list ---- */

/* An empty slot of a reader stays; a loop device without a file, a disk of memory nobody mounted go. What a virtual
 * machine is given hangs on a port. */
static bool is_shown(const struct hr_plugged *disk)
{
    const struct hr_hop *own = &disk->way.hops[0];
    bool is_virtual = disk->way.hop_count == 1 && own->kind == HR_HOP_VIRTUAL && !*own->port;
    return *disk->mount_points || (!is_virtual && (disk->size_bytes > 0 || disk->is_removable));
}

static void leave_out_what_is_not_shown(struct listing *listing)
{
    size_t kept = 0;
    for (size_t i = 0; i < listing->count; i++) {
        if (is_shown(&listing->disks[i]))
            listing->disks[kept++] = listing->disks[i];
        else
            free(listing->disks[i].mount_points);
    }
    listing->count = kept;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const struct hr_plugged *)a)->name, ((const struct hr_plugged *)b)->name);
}

enum hr_status hr__plugged_list(struct hr_plugged **out, size_t *count, const struct hr_system_roots *roots,
                                struct hr_fault *fault)
{
    struct listing listing = {.roots = roots};
    enum hr_status status = add_all(&listing, fault);
    if (status == HR_OK)
        status = note_mounts(&listing, fault);
    if (status != HR_OK) {
        hr__plugged_free(listing.disks, listing.count);
        return status;
    }
    leave_out_what_is_not_shown(&listing);
    if (listing.count)
        qsort(listing.disks, listing.count, sizeof *listing.disks, by_name);
    *out = listing.disks;
    *count = listing.count;
    return HR_OK;
}

bool hr__plugged_has_volume(const char *identity, const struct hr_system_roots *roots)
{
    static const char form[] = "uuid:";
    if (strncmp(identity, form, strlen(form)) != 0)
        return false;
    char *folder = hr__path_join(roots->dev, "disk/by-uuid");
    char *link = folder ? hr__path_join(folder, identity + strlen(form)) : NULL;
    bool is_there = link && access(link, F_OK) == 0;
    free(folder);
    free(link);
    return is_there;
}

void hr__plugged_free(struct hr_plugged *disks, size_t count)
{
    for (size_t i = 0; i < count; i++)
        free(disks[i].mount_points);
    free(disks);
}
