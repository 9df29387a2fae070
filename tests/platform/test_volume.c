/* SPDX-License-Identifier: ISC */
/* Volumes in a made-up system: which mount answers for a path, what its filesystem is like, what it is called. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>

#include "machine_fixture.h"
#include "platform/mount.h"
#include "suite.h"

START_TEST(parses_a_line_of_mountinfo)
{
    /* The example of proc_pid_mountinfo(5), then its octal escapes. */
    char line[] = "36 35 98:0 /mnt1 /mnt2 rw,noatime master:1 - ext3 /dev/root rw,errors=continue";
    char escaped[] = "42 27 8:17 / /media/Cup\\040final\\134\\011x rw - vfat /dev/disk\\0401 rw";
    char bare[] = "42 27 0:45 / /a rw - tmpfs tmpfs rw";
    struct hr_mount mount;
    ck_assert(hr__mount_parse(&mount, line));
    ck_assert_uint_eq(mount.major, 98);
    ck_assert_uint_eq(mount.minor, 0);
    ck_assert_str_eq(mount.mount_point, "/mnt2");
    ck_assert_str_eq(mount.fs_type, "ext3");
    ck_assert_str_eq(mount.source, "/dev/root");
    ck_assert(hr__mount_parse(&mount, escaped));
    ck_assert_str_eq(mount.mount_point, "/media/Cup final\\\tx");
    ck_assert_str_eq(mount.source, "/dev/disk 1");
    ck_assert(hr__mount_parse(&mount, bare));
    ck_assert_uint_eq(mount.minor, 45);
}
END_TEST

START_TEST(refuses_torn_lines_of_mountinfo)
{
    static const char *const rows[] = {
        "",
        "36",
        "36 35 98:0 /mnt1 /mnt2 rw,noatime",
        "36 35 98 /a /b rw - ext3 /dev/root rw",
        "36 35 x:0 /a /b rw - ext3 /dev/root rw",
        "36 35 98:0 /a /b rw -",
        "36 35 98:0 /a /b rw - ext3",
        "36 35 99999999999:0 /a /b rw - ext3 /dev/root rw",
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char line[128];
        struct hr_mount mount;
        snprintf(line, sizeof line, "%s", rows[i]);
        ck_assert_msg(!hr__mount_parse(&mount, line), "%s", rows[i]);
    }
}
END_TEST

START_TEST(finds_the_mount_that_answers_for_a_path)
{
    static const char text[] = "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n"
                               "2 1 8:17 / /m/card rw - vfat /dev/sdb1 rw\n"
                               "3 1 8:33 / /m/card rw - exfat /dev/sdc1 rw\n"
                               "torn\n"
                               "4 1 0:50 / /m/pool rw - btrfs /dev/sdd rw\n"
                               "5 1 8:49 / /m rw - ext4 /dev/hidden rw\n";
    static const struct {
        const char *path, *source;
        unsigned major, minor;
    } rows[] = {
        {"/home", "/dev/sda1", 8, 1},           {"/m/card/DCIM", "/dev/sdc1", 8, 33}, {"/m/card", "/dev/sdb1", 8, 17},
        {"/m/cards", "/dev/hidden", 8, 49},     {"/m/pool/x", "/dev/sdd", 0, 77},     {"/m/card", "/dev/sdc1", 0, 99},
        {"/m/card/DCIM", "/dev/hidden", 8, 49},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char copy[sizeof text];
        struct hr_mount mount;
        memcpy(copy, text, sizeof copy);
        ck_assert(hr__mount_find(&mount, copy, rows[i].path, makedev(rows[i].major, rows[i].minor)));
        ck_assert_msg(strcmp(mount.source, rows[i].source) == 0, "%s: %s", rows[i].path, mount.source);
    }
    char nothing[] = "";
    struct hr_mount mount;
    ck_assert(!hr__mount_find(&mount, nothing, "/", 0));
}
END_TEST

/* As in a chroot whose root is no mount. A mount the path is in is never passed over for one of its device. */
START_TEST(asks_another_mount_of_the_device_where_none_holds_the_path)
{
    static const char text[] = "7 1 0:21 / /proc rw - proc proc rw\n"
                               "8 1 8:17 /sub /m/card rw - vfat /dev/sdb1 rw\n"
                               "9 1 8:33 / /m/pool rw - btrfs /dev/sdc1 rw\n";
    char copy[sizeof text];
    struct hr_mount mount;
    memcpy(copy, text, sizeof copy);
    ck_assert(hr__mount_find(&mount, copy, "/home", makedev(8, 17)));
    ck_assert_str_eq(mount.source, "/dev/sdb1");
    ck_assert_ptr_null(mount.mount_point);
    memcpy(copy, text, sizeof copy);
    ck_assert(hr__mount_find(&mount, copy, "/m/pool/x", makedev(8, 17)));
    ck_assert_str_eq(mount.source, "/dev/sdc1");
    ck_assert_str_eq(mount.mount_point, "/m/pool");
    memcpy(copy, text, sizeof copy);
    ck_assert(!hr__mount_find(&mount, copy, "/home", makedev(8, 99)));
}
END_TEST

START_TEST(knows_what_types_of_filesystem_are_like)
{
    static const struct {
        const char *type;
        bool folds, restricts, in_memory, network, fuse;
        uint64_t max_file_bytes;
    } rows[] = {
        {"vfat", true, true, false, false, false, 4294967295},
        {"exfat", true, true, false, false, false, UINT64_MAX},
        {"fuse.exfat", true, true, false, false, true, UINT64_MAX},
        {"fuseblk", true, true, false, false, true, UINT64_MAX},
        {"ntfs3", true, true, false, false, false, UINT64_MAX},
        {"hfsplus", true, false, false, false, false, UINT64_MAX},
        {"ext4", false, false, false, false, false, UINT64_MAX},
        {"tmpfs", false, false, true, false, false, UINT64_MAX},
        {"nfs4", false, false, false, true, false, UINT64_MAX},
        {"fuse.sshfs", false, false, false, true, true, UINT64_MAX},
        {"fusectl", false, false, false, false, false, UINT64_MAX},
        {"zfs", false, false, false, false, false, UINT64_MAX},
        {"neverheardof", false, false, false, false, false, UINT64_MAX},
    };
    struct machine machine;
    machine_begin(&machine);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        mount_card(&machine, "0:77", rows[i].type, "somewhere");
        struct hr_volume volume = volume_of_card(&machine);
        ck_assert_str_eq(volume.fs_type, rows[i].type);
        ck_assert_msg(volume.folds_case == rows[i].folds, "%s", rows[i].type);
        ck_assert_msg(volume.names_must_be_utf8 == rows[i].restricts, "%s", rows[i].type);
        ck_assert_msg(volume.is_in_memory == rows[i].in_memory, "%s", rows[i].type);
        ck_assert_msg(volume.is_network == rows[i].network, "%s", rows[i].type);
        ck_assert_msg(volume.is_fuse == rows[i].fuse, "%s", rows[i].type);
        bool is_counted = strcmp(rows[i].type, "zfs") != 0 && !rows[i].in_memory && !rows[i].network && !rows[i].fuse;
        ck_assert_msg(hr__volume_is_counted(&volume) == is_counted, "%s", rows[i].type);
        ck_assert_uint_eq(volume.max_file_bytes, rows[i].max_file_bytes);
        ck_assert_uint_eq(volume.disk_count, rows[i].network);
        hr__volume_finish(&volume);
    }
    machine_end(&machine);
}
END_TEST

START_TEST(asks_a_volume_for_its_uuid_then_udev_then_its_first_bytes)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "8:17", "vfat", "/dev/sdb1");
    add_block(&machine, "usb1/sdb", "8:16");
    add_partition(&machine, "usb1/sdb/sdb1", "8:17");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert(volume.identity_is_weak);
    ck_assert_int_eq(strncmp(volume.identity, "size:vfat-", 10), 0);
    ck_assert_int_eq(strncmp(volume.place_identity, volume.identity, strlen(volume.identity)), 0);
    ck_assert_str_eq(volume.place_identity + strlen(volume.identity) + 1, volume.mount_point);
    ck_assert_str_eq(volume.disks[0].identity, "");
    ck_assert(!volume.disks_are_known);
    hr__volume_finish(&volume);

    unsigned char boot[4096] = {0xEB, 0x58, 0x90};
    memcpy(boot + 82, "FAT32   ", 8);
    memcpy(boot + 67, "\x78\x56\x34\x12", 4);
    memcpy(boot + 71, "CUP FINAL  ", 11);
    scratch_write(&machine.scratch, "dev/sdb1", boot, sizeof boot);
    volume = volume_of_card(&machine);
    ck_assert(!volume.identity_is_weak);
    ck_assert_str_eq(volume.identity, "uuid:1234-5678");
    ck_assert_str_eq(volume.place_identity, volume.identity);
    ck_assert_str_eq(volume.label, "CUP FINAL");
    ck_assert_str_eq(volume.disks[0].identity, "uuid:1234-5678");
    hr__volume_finish(&volume);

    scratch_write_text(&machine.scratch, "run/udev/data/b8:17",
                       "S:disk/x\nE:ID_FS_UUID=ABCD-0001\nE:ID_FS_LABEL=BODY\x01"
                       "A\n");
    volume = volume_of_card(&machine);
    ck_assert_str_eq(volume.identity, "uuid:ABCD-0001");
    ck_assert_str_eq(volume.label, "BODY%01A");
    hr__volume_finish(&volume);

    link_to(&machine, "../../sdb", "dev/disk/by-uuid/FFFF-FFFF");
    link_to(&machine, "../../sdb1", "dev/disk/by-uuid/ABCD-0002");
    volume = volume_of_card(&machine);
    ck_assert_str_eq(volume.identity, "uuid:ABCD-0002");
    hr__volume_finish(&volume);
    machine_end(&machine);
}
END_TEST

START_TEST(asks_the_device_itself_where_no_mount_is_listed)
{
    struct machine machine;
    struct stat facts, above;
    char number[32];
    machine_begin(&machine);
    scratch_write_text(&machine.scratch, "proc/self/mountinfo", "7 1 0:21 / /proc rw - proc proc rw\n");
    ck_assert_int_eq(stat(machine.scratch.path, &facts), 0);
    snprintf(number, sizeof number, "%u:%u", major(facts.st_dev), minor(facts.st_dev));
    add_block(&machine, "pci/sda", number);
    set_attribute(&machine, "pci/sda/serial", "S-A\n");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert_str_eq(volume.source, "");
    ck_assert_uint_gt(strlen(volume.fs_type), 0);
    ck_assert_int_eq(volume.disks_are_known, major(facts.st_dev) != 0);
    ck_assert_int_eq(stat(volume.mount_point, &above), 0);
    ck_assert_uint_eq(above.st_dev, facts.st_dev);
    ck_assert_ptr_eq(strstr(machine.scratch.path, volume.mount_point), machine.scratch.path);
    hr__volume_finish(&volume);
    machine_end(&machine);
}
END_TEST

START_TEST(says_when_there_is_no_such_place)
{
    struct machine machine;
    struct hr_volume volume;
    machine_begin(&machine);
    mount_card(&machine, "8:17", "ext4", "/dev/sdb1");
    ck_assert_int_eq(hr__volume_of(&volume, scratch_path(&machine.scratch, "none"), &machine.roots, NULL),
                     HR_NOT_FOUND);
    machine_end(&machine);
}
END_TEST

HR_SUITE("platform/volume", parses_a_line_of_mountinfo, refuses_torn_lines_of_mountinfo,
         finds_the_mount_that_answers_for_a_path, asks_another_mount_of_the_device_where_none_holds_the_path,
         knows_what_types_of_filesystem_are_like, asks_a_volume_for_its_uuid_then_udev_then_its_first_bytes,
         asks_the_device_itself_where_no_mount_is_listed, says_when_there_is_no_such_place)
