/* SPDX-License-Identifier: ISC */
/* First bytes written by hand from the specifications that superblock.c names; platform/volumes holds the same against
 * volumes that mkfs made and blkid read. */
#include "platform/superblock.h"

#include <string.h>

#include "suite.h"

/* "ext4 Disk Layout" of the kernel's documentation: the superblock at 1024, s_magic at 0x38, s_uuid at 0x68,
 * s_volume_name at 0x78. */
static void write_ext4(unsigned char *bytes, const char *label)
{
    memcpy(bytes + 1024 + 0x38, "\x53\xEF", 2);
    for (unsigned i = 0; i < 16; i++)
        bytes[1024 + 0x68 + i] = (unsigned char)(0x10 + i);
    memcpy(bytes + 1024 + 0x78, label, strlen(label));
}

/* FAT: BS_FilSysType, BS_VolID and BS_VolLab stand at 54, 39 and 43, on FAT32 at 82, 67 and 71. */
static void write_fat(unsigned char *bytes, const char *type, size_t type_at, const char *label)
{
    memcpy(bytes + type_at, type, 8);
    memcpy(bytes + type_at - 15, "\x78\x56\x34\x12", 4);
    memcpy(bytes + type_at - 11, label, 11);
}

static void expect(const unsigned char *bytes, const char *uuid, const char *label)
{
    struct hr_superblock superblock;
    memset(&superblock, 'x', sizeof superblock);
    ck_assert_int_eq(hr__superblock_read(&superblock, bytes), *uuid != '\0');
    ck_assert_str_eq(superblock.uuid, uuid);
    ck_assert_str_eq(superblock.label, label);
}

START_TEST(reads_who_a_volume_says_it_is)
{
    unsigned char bytes[HR_SUPERBLOCK_BYTES] = {0};
    write_ext4(bytes, "NORTHMERE");
    expect(bytes, "10111213-1415-1617-1819-1a1b1c1d1e1f", "NORTHMERE");
    write_ext4(bytes, "SIXTEEN-LETTERS!");
    expect(bytes, "10111213-1415-1617-1819-1a1b1c1d1e1f", "SIXTEEN-LETTERS!");
    memset(bytes, 0, sizeof bytes);
    /* exFAT specification, section 3.1: FileSystemName at 3, VolumeSerialNumber at 100 */
    memcpy(bytes + 3, "EXFAT   ", 8);
    memcpy(bytes + 100, "\xF3\x09\x1C\x4A", 4);
    expect(bytes, "4A1C-09F3", "");
    memset(bytes, 0, sizeof bytes);
    write_fat(bytes, "FAT32   ", 82, "CUP FINAL  ");
    expect(bytes, "1234-5678", "CUP FINAL");
    memset(bytes, 0, sizeof bytes);
    write_fat(bytes, "FAT16   ", 54, "NO NAME    ");
    expect(bytes, "1234-5678", "");
    write_fat(bytes, "FAT12   ", 54, "ELEVENCHARS");
    expect(bytes, "1234-5678", "ELEVENCHARS");
}
END_TEST

START_TEST(knows_nothing_of_other_bytes)
{
    unsigned char bytes[HR_SUPERBLOCK_BYTES];
    memset(bytes, 0, sizeof bytes);
    expect(bytes, "", "");
    memset(bytes, 0xFF, sizeof bytes);
    expect(bytes, "", "");
    memset(bytes, 0, sizeof bytes);
    memcpy(bytes + 3, "EXFAT", 5); /* without its three blanks */
    memcpy(bytes + 3 + 5, "NTFS", 3);
    expect(bytes, "", "");
}
END_TEST

START_TEST(names_a_partition_table_by_its_guid_else_its_signature)
{
    unsigned char bytes[HR_SUPERBLOCK_BYTES] = {0};
    char id[HR_UUID_TEXT_SIZE] = "";
    ck_assert(!hr__partition_table_id(id, bytes));
    memcpy(bytes + 510, "\x55\xAA", 2);
    ck_assert(!hr__partition_table_id(id, bytes)); /* a signature of zeros is none: cameras write it so */
    memcpy(bytes + 440, "\x01\x00\x00\x0A", 4);
    ck_assert(hr__partition_table_id(id, bytes));
    ck_assert_str_eq(id, "0a000001");
    bytes[511] = 0;
    ck_assert(!hr__partition_table_id(id, bytes));
    /* UEFI 2.10, table 5.5 and appendix A: the header in block 1, DiskGUID at 56, its first three fields little-endian
     */
    memcpy(bytes + 512, "EFI PART", 8);
    memcpy(bytes + 512 + 56, "\x78\x56\x34\x12\xBC\x9A\xF0\xDE\x11\x22\x33\x44\x55\x66\x77\x88", 16);
    ck_assert(hr__partition_table_id(id, bytes));
    ck_assert_str_eq(id, "12345678-9abc-def0-1122-334455667788");
}
END_TEST

HR_SUITE("platform/superblock", reads_who_a_volume_says_it_is, knows_nothing_of_other_bytes,
         names_a_partition_table_by_its_guid_else_its_signature)
