/* SPDX-License-Identifier: ISC */
#include <errno.h>
#include <linux/magic.h>
#include <stddef.h>
#include <sys/statfs.h>
#include <sys/sysmacros.h>

#include "platform/mount.h"

/* <linux/magic.h>, and the kernel's fs/hfsplus/hfsplus_raw.h and fs/ntfs3/super.c for two it lacks. ext2 and ext3 bear
 * ext4's number. Types of which platform/fs_kind.c knows nothing special may be missing. */
static const struct {
    uint32_t magic;
    const char *type;
} types[] = {
    {EXT4_SUPER_MAGIC, "ext4"},  {BTRFS_SUPER_MAGIC, "btrfs"},       {XFS_SUPER_MAGIC, "xfs"},
    {MSDOS_SUPER_MAGIC, "vfat"}, {EXFAT_SUPER_MAGIC, "exfat"},       {0x482B, "hfsplus"},
    {0x7366746E, "ntfs3"},       {OVERLAYFS_SUPER_MAGIC, "overlay"}, {TMPFS_MAGIC, "tmpfs"},
    {RAMFS_MAGIC, "ramfs"},      {FUSE_SUPER_MAGIC, "fuse"},         {NFS_SUPER_MAGIC, "nfs"},
    {CIFS_SUPER_MAGIC, "cifs"},  {SMB2_SUPER_MAGIC, "smb3"},         {V9FS_MAGIC, "9p"},
    {CEPH_SUPER_MAGIC, "ceph"},
};

static const char *type_of(const char *path)
{
    struct statfs facts;
    int result;
    do
        result = statfs(path, &facts);
    while (result != 0 && errno == EINTR);
    for (size_t i = 0; result == 0 && i < sizeof types / sizeof *types; i++) {
        if (types[i].magic == (uint32_t)facts.f_type)
            return types[i].type;
    }
    return "unknown";
}

struct hr_mount hr__mount_unlisted(const char *path, uint64_t device)
{
    return (struct hr_mount){.major = major(device), .minor = minor(device), .fs_type = type_of(path), .source = ""};
}
