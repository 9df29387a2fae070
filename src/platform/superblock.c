/* SPDX-License-Identifier: ISC */
#include "platform/superblock.h"

#include <stdio.h>
#include <string.h>

/* Little-endian on the medium, most significant first in the text. */
static void format_serial(char out[HR_UUID_TEXT_SIZE], const unsigned char serial[4])
{
    snprintf(out, HR_UUID_TEXT_SIZE, "%02X%02X-%02X%02X", serial[3], serial[2], serial[1], serial[0]);
}

static void format_uuid(char out[HR_UUID_TEXT_SIZE], const unsigned char uuid[16])
{
    char *to = out;
    for (size_t i = 0; i < 16; i++) {
        bool dash = i == 4 || i == 6 || i == 8 || i == 10;
        to += snprintf(to, (size_t)(out + HR_UUID_TEXT_SIZE - to), dash ? "-%02x" : "%02x", uuid[i]);
    }
}

/* Padded with blanks; "NO NAME" stands for none. */
static void read_fat_label(char out[HR_SUPERBLOCK_LABEL_SIZE], const unsigned char label[11])
{
    size_t size = 11;
    while (size > 0 && (label[size - 1] == ' ' || label[size - 1] == '\0'))
        size--;
    if (size == 7 && memcmp(label, "NO NAME", 7) == 0)
        size = 0;
    memcpy(out, label, size);
    out[size] = '\0';
}

/* Offsets: ext4 layout in the Linux kernel's documentation; "exFAT file system specification" section 3.1;
 * "FAT: General Overview of On-Disk Format" 1.03, boot sector. */
bool hr__superblock_read(struct hr_superblock *out, const unsigned char bytes[HR_SUPERBLOCK_BYTES])
{
    const unsigned char *ext = bytes + 1024;
    *out = (struct hr_superblock){.uuid = ""};
    if (ext[56] == 0x53 && ext[57] == 0xEF) {
        format_uuid(out->uuid, ext + 104);
        memcpy(out->label, ext + 120, 16);
    } else if (memcmp(bytes + 3, "EXFAT   ", 8) == 0) {
        format_serial(out->uuid, bytes + 100);
    } else if (memcmp(bytes + 82, "FAT32   ", 8) == 0) {
        format_serial(out->uuid, bytes + 67);
        read_fat_label(out->label, bytes + 71);
    } else if (memcmp(bytes + 54, "FAT16   ", 8) == 0 || memcmp(bytes + 54, "FAT12   ", 8) == 0) {
        format_serial(out->uuid, bytes + 39);
        read_fat_label(out->label, bytes + 43);
    }
    return *out->uuid != '\0';
}

bool hr__partition_table_id(char out[HR_UUID_TEXT_SIZE], const unsigned char bytes[HR_SUPERBLOCK_BYTES])
{
    const unsigned char *header = bytes + 512, *signature = bytes + 440;
    if (memcmp(header, "EFI PART", 8) == 0) {
        /* The first three fields of a GUID are little-endian on the medium (UEFI specification, appendix A). */
        static const unsigned char order[16] = {3, 2, 1, 0, 5, 4, 7, 6, 8, 9, 10, 11, 12, 13, 14, 15};
        unsigned char uuid[16];
        for (size_t i = 0; i < sizeof uuid; i++)
            uuid[i] = header[56 + order[i]];
        format_uuid(out, uuid);
        return true;
    }
    bool is_signed = signature[0] || signature[1] || signature[2] || signature[3];
    if (bytes[510] != 0x55 || bytes[511] != 0xAA || !is_signed)
        return false;
    snprintf(out, HR_UUID_TEXT_SIZE, "%02x%02x%02x%02x", signature[3], signature[2], signature[1], signature[0]);
    return true;
}
