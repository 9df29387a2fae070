/* SPDX-License-Identifier: ISC */
/* Who a volume or a disk says it is, from its first bytes. Pure: the bytes are handed in and believed in nothing. */
#ifndef HR_PLATFORM_SUPERBLOCK_H
#define HR_PLATFORM_SUPERBLOCK_H

#include <stdbool.h>
#include <stddef.h>

enum { HR_SUPERBLOCK_BYTES = 2048, HR_UUID_TEXT_SIZE = 37, HR_SUPERBLOCK_LABEL_SIZE = 17 };

struct hr_superblock {
    char uuid[HR_UUID_TEXT_SIZE];         /* written as udev writes it: "1b4e28ba-...", for FAT and exFAT "4A1C-09F3" */
    char label[HR_SUPERBLOCK_LABEL_SIZE]; /* raw bytes; "" where it has none or keeps it elsewhere (exFAT) */
};

/* ext2/3/4, exFAT, FAT12/16/32. False when the bytes are none of these. */
bool hr__superblock_read(struct hr_superblock *out, const unsigned char bytes[HR_SUPERBLOCK_BYTES]);
/* The disk GUID of a GUID partition table, else the signature of an MBR one. False when there is neither. */
bool hr__partition_table_id(char out[HR_UUID_TEXT_SIZE], const unsigned char bytes[HR_SUPERBLOCK_BYTES]);

#endif
