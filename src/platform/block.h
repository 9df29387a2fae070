/* SPDX-License-Identifier: ISC */
/* Block devices as sysfs, udev's database and the device's own first bytes tell of them. Linux alone. */
#ifndef HR_PLATFORM_BLOCK_H
#define HR_PLATFORM_BLOCK_H

#include <stdbool.h>
#include <stddef.h>

#include "platform/mount.h"
#include "platform/volume.h"

struct hr_block {
    char *folder;    /* in sysfs, links resolved; owned */
    char name[64];   /* "sdb1" */
    char number[24]; /* "8:17"; "" when unknown */
};

/* The device below a mount: by its number, else by its source where that can be believed. False when there is none;
 * release a found one. */
bool hr__block_find(struct hr_block *out, const struct hr_mount *mount, const struct hr_system_roots *roots);
/* The one whose sysfs folder is `folder` joined with `name`, links resolved. */
bool hr__block_open(struct hr_block *out, const char *folder, const char *name);
void hr__block_release(struct hr_block *block);

/* One line of sysfs, blanks at its ends left out. False when it is not there or empty. */
bool hr__block_attribute(char *out, size_t out_size, const struct hr_block *block, const char *name);
/* A property of udev's database. */
bool hr__block_property(char *out, size_t out_size, const struct hr_block *block, const char *key,
                        const struct hr_system_roots *roots);
/* Has it heads? By its own word, which udev passes on of ATA disks, those in USB enclosures too
 * (ID_ATA_ROTATION_RATE_RPM; 0: none). queue/rotational is no such word: the kernel says 1 of all that it did not ask,
 * most drives on USB and virtual disks among them. */
enum hr_rotation { HR_ROTATION_UNKNOWN, HR_ROTATION_NONE, HR_ROTATION_HEADS };
enum hr_rotation hr__block_rotation(const struct hr_block *block, const struct hr_system_roots *roots);
/* The name of the link to it in dev/disk/by-uuid. */
bool hr__block_uuid_link(char *out, size_t out_size, const struct hr_block *block, const struct hr_system_roots *roots);
/* Its first bytes, where we may read them. */
bool hr__block_head(unsigned char *bytes, size_t size, const struct hr_block *block,
                    const struct hr_system_roots *roots);

/* The folder of sysfs that lists every device of the pool `block` is a member of; the folder above bears the pool's
 * UUID. The caller frees; NULL when there is none. */
char *hr__block_pool(const struct hr_block *block, const char *fs_type, const struct hr_system_roots *roots);

/* Fills the volume's disks: the whole disks below `block`, or below the pool it is a member of; says whether all are
 * known. The volume's type and, where it has one, its UUID are set already. */
void hr__block_disks(struct hr_volume *volume, const struct hr_block *block, const struct hr_system_roots *roots);

#endif
