/* SPDX-License-Identifier: ISC */
#include "platform/volume.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>

#include <headrace/name.h>

#include "base/fault.h"
#include "base/text.h"
#include "platform/folder.h"
#include "platform/fs_kind.h"
#include "platform/system.h"

enum { PLACE_IDENTITY_CEILING = 1 << 16 };

const struct hr_system_roots hr__system_roots = {.proc = "/proc", .sys = "/sys", .dev = "/dev", .run = "/run"};

static void take_limits(struct hr_volume *volume, const struct statvfs *limits)
{
    uint64_t unit = limits->f_frsize ? limits->f_frsize : limits->f_bsize;
    volume->block_bytes = unit;
    volume->total_bytes = unit * limits->f_blocks;
    volume->free_bytes = unit * limits->f_bavail;
    volume->free_files = limits->f_files ? limits->f_favail : UINT64_MAX;
    volume->max_name_bytes = limits->f_namemax;
    volume->is_read_only = limits->f_flag & ST_RDONLY;
}

static void take_kind(struct hr_volume *volume)
{
    const struct hr_fs_kind *kind = hr__fs_kind_of(volume->fs_type);
    volume->is_in_memory = kind->is_in_memory;
    volume->is_network = kind->is_network;
    volume->is_fuse = hr__fs_is_fuse(volume->fs_type);
    volume->folds_case = kind->folds_case;
    volume->has_own_cache = kind->has_own_cache;
    volume->renames_whole = kind->renames_whole && !volume->is_fuse;
    volume->names_must_be_utf8 = kind->names_must_be_utf8;
    volume->max_file_bytes = kind->max_file_bytes ? kind->max_file_bytes : UINT64_MAX;
}

/* What stands for an identity when the volume's own is not to be had. */
static void take_fallback_identity(struct hr_volume *volume, const struct statvfs *limits)
{
    if (hr__fs_kind_of(volume->fs_type)->fsid_is_stable && limits->f_fsid) {
        snprintf(volume->identity, sizeof volume->identity, "fsid:%016" PRIx64, (uint64_t)limits->f_fsid);
        return;
    }
    snprintf(volume->identity, sizeof volume->identity, "size:%s-%" PRIu64, volume->fs_type,
             (uint64_t)limits->f_blocks);
    volume->identity_is_weak = true;
}

static enum hr_status take_place_identity(struct hr_volume *volume, struct hr_fault *fault)
{
    struct hr_text text;
    hr__text_init(&text, PLACE_IDENTITY_CEILING);
    hr__text_append(&text, volume->identity);
    if (volume->identity_is_weak)
        hr__text_printf(&text, ":%s", volume->mount_point);
    volume->place_identity = hr__text_take(&text);
    hr__text_finish(&text);
    return volume->place_identity ? HR_OK : hr__fault_nomem(fault, "a volume");
}

/* Who serves a network volume is all one can see of its disks. */
static void take_server(struct hr_volume *volume)
{
    struct hr_disk *disk = &volume->disks[0];
    *disk = (struct hr_disk){.has_heads = false};
    hr_escape_name(disk->name, sizeof disk->name, volume->source, strlen(volume->source));
    snprintf(disk->identity, sizeof disk->identity, "network:%s", disk->name);
    volume->disk_count = 1;
    volume->disks_are_known = true;
}

static enum hr_status fill(struct hr_volume *volume, const char *resolved, const struct hr_system_roots *roots,
                           struct hr_fault *fault)
{
    struct stat facts;
    struct statvfs limits;
    if (stat(resolved, &facts) != 0 || statvfs(resolved, &limits) != 0)
        return hr__system_fault(fault, errno, "cannot ask about the volume of", resolved);
    volume->device = (uint64_t)facts.st_dev;
    take_limits(volume, &limits);
    enum hr_status status = hr__variant_volume(volume, resolved, roots, fault);
    if (status != HR_OK)
        return status;
    take_kind(volume);
    if (!*volume->identity)
        take_fallback_identity(volume, &limits);
    if (volume->is_network)
        take_server(volume);
    return take_place_identity(volume, fault);
}

enum hr_status hr__volume_of(struct hr_volume *out, const char *path, const struct hr_system_roots *roots,
                             struct hr_fault *fault)
{
    struct hr_volume volume = {0};
    char *resolved = NULL;
    enum hr_status status = hr__path_resolve(&resolved, path, fault);
    if (status == HR_OK)
        status = fill(&volume, resolved, roots, fault);
    free(resolved);
    if (status == HR_OK)
        *out = volume;
    else
        hr__volume_finish(&volume);
    return status;
}

void hr__volume_finish(struct hr_volume *volume)
{
    free(volume->mount_point);
    free(volume->source);
    free(volume->place_identity);
    *volume = (struct hr_volume){0};
}

bool hr__volume_has_heads(const struct hr_volume *volume)
{
    for (size_t i = 0; i < volume->disk_count; i++)
        if (volume->disks[i].has_heads)
            return true;
    return false;
}

bool hr__volume_is_counted(const struct hr_volume *volume)
{
    return !volume->is_in_memory && !volume->is_fuse && !volume->is_network && !volume->has_own_cache;
}
