/* SPDX-License-Identifier: ISC */
#include "platform/fs_kind.h"

#include <stddef.h>
#include <string.h>

/* FAT keeps a size in 32 bits. `fuseblk` hides its type; what is mounted so in practice (exFAT, NTFS) shares these
 * limits. A rename is whole where names are changed through a journal or written anew elsewhere; FAT and exFAT change
 * them in place (exFAT specification, section 7.4), one entry after the other. */
static const struct hr_fs_kind kinds[] = {
    {.type = "vfat", .folds_case = true, .names_must_be_utf8 = true, .max_file_bytes = UINT32_MAX},
    {.type = "msdos", .folds_case = true, .names_must_be_utf8 = true, .max_file_bytes = UINT32_MAX},
    {.type = "exfat", .folds_case = true, .names_must_be_utf8 = true},
    {.type = "fuseblk", .folds_case = true, .names_must_be_utf8 = true},
    {.type = "ntfs", .folds_case = true, .names_must_be_utf8 = true},
    {.type = "ntfs3", .folds_case = true, .names_must_be_utf8 = true},
    {.type = "ntfs-3g", .folds_case = true, .names_must_be_utf8 = true},
    {.type = "hfsplus", .folds_case = true},
    {.type = "ext2", .fsid_is_stable = true},
    {.type = "ext3", .fsid_is_stable = true, .renames_whole = true},
    {.type = "ext4", .fsid_is_stable = true, .renames_whole = true},
    {.type = "xfs", .renames_whole = true},
    {.type = "f2fs", .renames_whole = true},
    {.type = "btrfs", .fsid_is_stable = true, .is_pool = true, .renames_whole = true},
    {.type = "bcachefs", .is_pool = true, .renames_whole = true},
    {.type = "zfs", .renames_whole = true, .has_own_cache = true},
    {.type = "tmpfs", .is_in_memory = true, .renames_whole = true},
    {.type = "ramfs", .is_in_memory = true, .renames_whole = true},
    {.type = "devtmpfs", .is_in_memory = true, .renames_whole = true},
    {.type = "nfs", .is_network = true},
    {.type = "nfs4", .is_network = true},
    {.type = "cifs", .is_network = true},
    {.type = "smb3", .is_network = true},
    {.type = "9p", .is_network = true},
    {.type = "virtiofs", .is_network = true},
    {.type = "ceph", .is_network = true},
    {.type = "glusterfs", .is_network = true},
    {.type = "sshfs", .is_network = true},
    {.type = "rclone", .is_network = true},
};

const struct hr_fs_kind *hr__fs_kind_of(const char *type)
{
    static const struct hr_fs_kind unknown = {.type = ""};
    static const char fuse[] = "fuse.";
    if (strncmp(type, fuse, sizeof fuse - 1) == 0)
        type += sizeof fuse - 1;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (strcmp(type, kinds[i].type) == 0)
            return &kinds[i];
    }
    return &unknown;
}

bool hr__fs_is_fuse(const char *type)
{
    return strcmp(type, "fuse") == 0 || strcmp(type, "fuseblk") == 0 || strncmp(type, "fuse.", 5) == 0;
}
