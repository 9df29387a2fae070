/* SPDX-License-Identifier: ISC */
/* What a path stands on: the mount, the filesystem and its limits, and the physical disks below it.
 *
 * Read from /proc/self/mountinfo, statvfs and the sysfs tree; the roots of both are parameters so that tests hand in
 * fixture trees. Partitions, device-mapper, md and the members of a btrfs are walked to whole disks. A loop device
 * counts as the disk it plays: its identity is its backing file. Other virtual devices (zram, nbd, ZFS volumes) do not
 * say what is below them. Whether two volumes stand on different disks is platform/apart.h. */
#ifndef HR_PLATFORM_VOLUME_H
#define HR_PLATFORM_VOLUME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

enum { HR_DISKS_MAX = 8, HR_IDENTITY_SIZE = 160 };

struct hr_disk {
    char name[64];                   /* "sda", "nvme0n1", "loop3"; for a network volume its source */
    char identity[HR_IDENTITY_SIZE]; /* the same disk tomorrow on another port: backing file, serial or wwid, else
                                        partition-table id, else the identity of the one volume that fills it; "" when
                                        it tells nothing that lasts */
    char link[HR_IDENTITY_SIZE]; /* the USB device it is reached through, which the slots of a reader share; else "" */
    bool has_heads;              /* by its own word */
};

struct hr_volume {
    char *mount_point;               /* owned */
    char *source;                    /* owned; "/dev/sdb1", "host:/share", "tmpfs" */
    char fs_type[32];                /* "ext4", "exfat", "fuse.exfat", "tmpfs"; escaped: FUSE takes any word */
    char label[64];                  /* escaped as names are; "" when it has none or we may not know */
    char identity[HR_IDENTITY_SIZE]; /* of the filesystem: "uuid:..." (by-uuid links, udev's database, or the superblock
                                        where readable), else "fsid:..." (f_fsid when stable), else "size:FSTYPE-BLOCKS"
                                      */
    bool identity_is_weak;           /* only the last form */
    char *place_identity;            /* owned; what tells a place on it from all others: the identity, and where that is
                                        weak the mount point too, for volumes of one size are not one volume */
    uint64_t device;                 /* st_dev */
    bool is_read_only, is_in_memory, is_fuse, is_network;
    bool has_own_cache;      /* beside the page cache, and what comes from it is counted as read */
    bool renames_whole;      /* a power cut leaves a rename done or not begun; false where that is not known */
    bool folds_case;         /* names differing in case only are one name (FAT, exFAT, NTFS, HFS+ by type) */
    bool names_must_be_utf8; /* and the characters " * : < > ? \ | and 0x01-0x1F are refused (FAT, exFAT, NTFS) */
    uint64_t total_bytes, free_bytes; /* free to this user */
    uint64_t free_files;              /* UINT64_MAX when the filesystem does not count */
    uint64_t block_bytes;             /* allocation unit */
    uint64_t max_file_bytes;          /* 4 GiB - 1 on FAT, UINT64_MAX when unknown */
    size_t max_name_bytes;
    struct hr_disk disks[HR_DISKS_MAX];
    size_t disk_count;
    bool disks_are_known; /* all disks below are in `disks`, each with its identity; not for memory */
};

struct hr_system_roots {
    const char *proc; /* "/proc" */
    const char *sys;  /* "/sys" */
    const char *dev;  /* "/dev" */
    const char *run;  /* "/run" */
};
extern const struct hr_system_roots hr__system_roots;

/* On HR_OK the caller releases *out with hr__volume_finish. HR_NOT_FOUND, HR_DENIED, HR_GONE, HR_IO, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__volume_of(struct hr_volume *out, const char *path, const struct hr_system_roots *roots,
                                         struct hr_fault *fault);
void hr__volume_finish(struct hr_volume *volume);

/* Does some disk below it say that it has heads? Of one that says nothing it is false. */
bool hr__volume_has_heads(const struct hr_volume *volume);

/* Does the kernel count what a thread fetches from this volume's device? Not for memory, FUSE and networks, nor where the
 * filesystem has a cache of its own (ZFS: zpl_read_common_iovec of OpenZFS 0.8 counts what came from it): nothing read
 * there can be shown to have come from the medium. */
bool hr__volume_is_counted(const struct hr_volume *volume);

/* Forgets the page cache of the block device below a FUSE volume, so that a read-back really reads. Needs root; false
 * when not allowed or there is no device. */
bool hr__volume_drop_device_cache(const struct hr_volume *volume);

#endif
