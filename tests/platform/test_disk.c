/* SPDX-License-Identifier: ISC */
/* From a volume down to its disks, in a made-up system. */
#include <stdio.h>
#include <string.h>

#include "machine_fixture.h"
#include "suite.h"

START_TEST(names_a_disk_by_serial_then_partition_table)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "8:17", "ext4", "/dev/sdb1");
    add_block(&machine, "usb1/sdb", "8:16");
    add_partition(&machine, "usb1/sdb/sdb1", "8:17");
    scratch_write_text(&machine.scratch, "run/udev/data/b8:17", "I:1\nE:ID_FS_UUID=v\n");
    expect_disk(&machine, "sdb", "uuid:v");

    unsigned char table[2048] = {0};
    memcpy(table + 440, "\x78\x56\x34\x12", 4);
    memcpy(table + 510, "\x55\xAA", 2);
    scratch_write(&machine.scratch, "dev/sdb", table, sizeof table);
    expect_disk(&machine, "sdb", "partitions:12345678");
    /* UEFI specification 2.10, appendix A: 12345678-9ABC-DEF0-1122-334455667788 on the medium. */
    memcpy(table + 512, "EFI PART", 8);
    memcpy(table + 512 + 56, "\x78\x56\x34\x12\xBC\x9A\xF0\xDE\x11\x22\x33\x44\x55\x66\x77\x88", 16);
    scratch_write(&machine.scratch, "dev/sdb", table, sizeof table);
    expect_disk(&machine, "sdb", "partitions:12345678-9abc-def0-1122-334455667788");

    scratch_write_text(&machine.scratch, "run/udev/data/b8:16", "I:1\nE:ID_SERIAL=Reader_007-0:0\n");
    set_attribute(&machine, "usb1/sdb/removable", "1\n");
    expect_disk(&machine, "sdb", "partitions:12345678-9abc-def0-1122-334455667788");
    set_attribute(&machine, "usb1/sdb/removable", "0\n");
    expect_disk(&machine, "sdb", "serial:Reader_007-0:0");
    set_attribute(&machine, "usb1/sdb/device/wwid", "  naa.5000c500a1b2c3d4\n");
    expect_disk(&machine, "sdb", "serial:naa.5000c500a1b2c3d4");
    machine_end(&machine);
}
END_TEST

START_TEST(takes_a_loop_device_for_the_disk_it_plays)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "0:60", "fuse.exfat", "/dev/loop3");
    add_block(&machine, "virtual/block/loop3", "7:3");
    set_attribute(&machine, "virtual/block/loop3/loop/backing_file", "/images/a b.img\n");
    expect_disk(&machine, "loop3", "file:/images/a b.img");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert(volume.is_fuse);
    hr__volume_finish(&volume);

    char file[400] = "/", identity[HR_IDENTITY_SIZE + 8] = "file:";
    memset(file + 1, 'x', sizeof file - 2);
    memcpy(file + sizeof file - 6, "y\n", 3);
    set_attribute(&machine, "virtual/block/loop3/loop/backing_file", file);
    memset(identity + 5, 'x', HR_IDENTITY_SIZE - 7);
    identity[HR_IDENTITY_SIZE - 2] = 'y';
    expect_disk(&machine, "loop3", identity);
    machine_end(&machine);
}
END_TEST

/* Paths as Documentation/ABI/stable/sysfs-bus-usb of the kernel has them. */
START_TEST(names_the_usb_device_a_disk_is_reached_through)
{
    static const struct {
        const char *path, *link;
    } rows[] = {
        {"pci0000:00/0000:00:14.0/usb2/2-1/2-1.4/2-1.4:1.0/host6/target6:0:0/6:0:0:1/block/sdb",
         "/pci0000:00/0000:00:14.0/usb2/2-1/2-1.4"},
        {"pci0000:00/0000:00:1d.0/0000:03:00.0/nvme/nvme0/nvme0n1", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct machine machine;
        machine_begin(&machine);
        mount_card(&machine, "8:16", "ext4", "/dev/sdb");
        add_block(&machine, rows[i].path, "8:16");
        struct hr_volume volume = volume_of_card(&machine);
        size_t length = strlen(volume.disks[0].link), tail = strlen(rows[i].link);
        ck_assert_uint_ge(length, tail);
        ck_assert_str_eq(volume.disks[0].link + length - tail, rows[i].link);
        ck_assert(tail || !length);
        hr__volume_finish(&volume);
        machine_end(&machine);
    }
}
END_TEST

START_TEST(walks_through_mapped_devices_to_every_disk)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "0:61", "btrfs", "/dev/mapper/vault");
    link_to(&machine, "../dm-0", "dev/mapper/vault");
    scratch_write_text(&machine.scratch, "dev/dm-0", "");
    link_to(&machine, "../../../../devices/virtual/block/dm-0", "sys/fs/btrfs/1b1b/devices/dm-0");
    add_block(&machine, "virtual/block/dm-0", "253:0");
    add_block(&machine, "virtual/block/md0", "9:0");
    add_block(&machine, "pci/sda", "8:0");
    add_partition(&machine, "pci/sda/sda1", "8:1");
    add_partition(&machine, "pci/sda/sda2", "8:2");
    add_block(&machine, "pci/sdb", "8:16");
    set_attribute(&machine, "pci/sda/serial", "S-A\n");
    set_attribute(&machine, "pci/sdb/serial", "S-B\n");
    link_to(&machine, "../../md0", "sys/devices/virtual/block/dm-0/slaves/md0");
    link_to(&machine, "../../../../pci/sda/sda1", "sys/devices/virtual/block/md0/slaves/sda1");
    link_to(&machine, "../../../../pci/sda/sda2", "sys/devices/virtual/block/md0/slaves/sda2");
    link_to(&machine, "../../../../pci/sdb", "sys/devices/virtual/block/md0/slaves/sdb");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert_uint_eq(volume.disk_count, 2);
    size_t a = strcmp(volume.disks[0].name, "sda") == 0 ? 0 : 1;
    ck_assert_str_eq(volume.disks[a].identity, "serial:S-A");
    ck_assert_str_eq(volume.disks[1 - a].name, "sdb");
    hr__volume_finish(&volume);
    machine_end(&machine);
}
END_TEST

START_TEST(survives_a_tree_that_runs_in_a_circle)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "253:0", "ext4", "/dev/dm-0");
    add_block(&machine, "virtual/block/dm-0", "253:0");
    link_to(&machine, "../../dm-0", "sys/devices/virtual/block/dm-0/slaves/dm-0");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert_uint_eq(volume.disk_count, 0);
    hr__volume_finish(&volume);
    expect_unknown_disks(&machine);
    machine_end(&machine);
}
END_TEST
/* A root of a container, a ZFS dataset, a type nobody has heard of: their number and source say nothing of a disk. The
 * kernel takes any word for the source of an overlay. */
START_TEST(does_not_know_what_is_below_a_filesystem_that_hides_it)
{
    static const struct {
        const char *number, *type, *source;
    } rows[] = {
        {"0:52", "overlay", "overlay"},    {"0:53", "overlay", "/dev/sda1"},          {"0:54", "zfs", "tank/pictures"},
        {"0:55", "neverheardof", "thing"}, {"0:56", "bcachefs", "/dev/sda:/dev/sdb"}, {"8:99", "ext4", "/dev/sdz9"},
    };
    struct machine machine;
    machine_begin(&machine);
    add_block(&machine, "pci/sda", "8:0");
    add_partition(&machine, "pci/sda/sda1", "8:1");
    set_attribute(&machine, "pci/sda/serial", "S-A\n");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        mount_card(&machine, rows[i].number, rows[i].type, rows[i].source);
        expect_unknown_disks(&machine);
    }
    machine_end(&machine);
}
END_TEST

/* Memory, a disk somewhere on the network, a volume in a ZFS pool: block devices all, and none of them a disk. */
START_TEST(does_not_take_a_virtual_device_for_a_disk)
{
    static const char *const names[] = {"zram0", "nbd0", "zd0"};
    struct machine machine;
    machine_begin(&machine);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[64], number[16], udev[64];
        snprintf(path, sizeof path, "virtual/block/%s", names[i]);
        snprintf(number, sizeof number, "250:%zu", i);
        snprintf(udev, sizeof udev, "run/udev/data/b%s", number);
        add_block(&machine, path, number);
        scratch_write_text(&machine.scratch, udev, "I:1\nE:ID_FS_UUID=v\n");
        mount_card(&machine, number, "ext4", names[i]);
        expect_unknown_disks(&machine);
    }
    machine_end(&machine);
}
END_TEST

/* Without serial number and table the only volume of a disk may stand for it, one of several may not. */
START_TEST(names_a_disk_by_its_volume_only_where_it_has_no_other)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "8:17", "exfat", "/dev/sdb1");
    add_block(&machine, "usb1/sdb", "8:16");
    add_partition(&machine, "usb1/sdb/sdb1", "8:17");
    expect_unknown_disks(&machine);
    scratch_write_text(&machine.scratch, "run/udev/data/b8:17", "I:1\nE:ID_FS_UUID=1A2B-3C4D\n");
    expect_disk(&machine, "sdb", "uuid:1A2B-3C4D");
    add_partition(&machine, "usb1/sdb/sdb2", "8:18");
    expect_unknown_disks(&machine);
    machine_end(&machine);
}
END_TEST

/* Two volumes cut from one disk have two identifiers, and neither is the disk's. */
START_TEST(does_not_name_a_disk_by_a_logical_volume)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "253:0", "ext4", "/dev/mapper/vg-a");
    add_block(&machine, "virtual/block/dm-0", "253:0");
    add_block(&machine, "pci/sda", "8:0");
    link_to(&machine, "../../../../pci/sda", "sys/devices/virtual/block/dm-0/slaves/sda");
    scratch_write_text(&machine.scratch, "run/udev/data/b253:0", "I:1\nE:ID_FS_UUID=v\n");
    expect_unknown_disks(&machine);
    set_attribute(&machine, "pci/sda/serial", "S-A\n");
    expect_disk(&machine, "sda", "serial:S-A");
    machine_end(&machine);
}
END_TEST

/* btrfs gives its files a number of its own (0:61) and its mount the name of one member; sysfs lists all of them. */
static void begin_btrfs(struct machine *machine)
{
    machine_begin(machine);
    mount_card(machine, "0:61", "btrfs", "/dev/sda1");
    add_block(machine, "pci/sda", "8:0");
    add_partition(machine, "pci/sda/sda1", "8:1");
    add_partition(machine, "pci/sda/sda2", "8:2");
    set_attribute(machine, "pci/sda/serial", "S-A\n");
    scratch_write_text(&machine->scratch, "sys/fs/btrfs/features/raid56", "0\n");
    scratch_write_text(&machine->scratch, "sys/fs/btrfs/0a0a/devices/.keep", "");
    link_to(machine, "../../../../devices/pci/sda/sda1", "sys/fs/btrfs/1b1b/devices/sda1");
}

START_TEST(finds_the_one_disk_of_a_btrfs_over_two_of_its_partitions)
{
    struct machine machine;
    begin_btrfs(&machine);
    link_to(&machine, "../../../../devices/pci/sda/sda2", "sys/fs/btrfs/1b1b/devices/sda2");
    expect_disk(&machine, "sda", "serial:S-A");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert_str_eq(volume.identity, "uuid:1b1b");
    hr__volume_finish(&volume);
    machine_end(&machine);
}
END_TEST

START_TEST(finds_the_disks_a_btrfs_does_not_name_in_its_mount)
{
    struct machine machine;
    begin_btrfs(&machine);
    add_block(&machine, "pci/sdb", "8:16");
    set_attribute(&machine, "pci/sdb/serial", "S-B\n");
    link_to(&machine, "../../../../devices/pci/sdb", "sys/fs/btrfs/1b1b/devices/sdb");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert(volume.disks_are_known);
    ck_assert_uint_eq(volume.disk_count, 2);
    hr__volume_finish(&volume);
    /* A member whose device is gone. */
    link_to(&machine, "../../../../devices/pci/sdc", "sys/fs/btrfs/1b1b/devices/sdc");
    expect_unknown_disks(&machine);
    machine_end(&machine);
}
END_TEST

START_TEST(does_not_believe_a_btrfs_that_lists_no_members)
{
    struct machine machine;
    begin_btrfs(&machine);
    mount_card(&machine, "0:61", "btrfs", "/dev/sda2");
    expect_unknown_disks(&machine);
    machine_end(&machine);
}
END_TEST

START_TEST(does_not_know_more_disks_than_it_can_hold)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "9:0", "ext4", "/dev/md0");
    add_block(&machine, "virtual/block/md0", "9:0");
    for (int i = 0; i < HR_DISKS_MAX + 1; i++) {
        char path[64], number[16], link[96], target[96];
        snprintf(path, sizeof path, "pci/sd%c", 'a' + i);
        snprintf(number, sizeof number, "8:%d", 16 * i);
        snprintf(link, sizeof link, "sys/devices/virtual/block/md0/slaves/sd%c", 'a' + i);
        snprintf(target, sizeof target, "../../../../%s", path);
        add_block(&machine, path, number);
        link_to(&machine, target, link);
        snprintf(path, sizeof path, "pci/sd%c/serial", 'a' + i);
        set_attribute(&machine, path, number);
        struct hr_volume volume = volume_of_card(&machine);
        ck_assert_int_eq(volume.disks_are_known, i < HR_DISKS_MAX);
        hr__volume_finish(&volume);
    }
    machine_end(&machine);
}
END_TEST

/* The word is of ATA Command Set, word 217, as udev passes it on: 0 for 0001h, else turns a minute. */
START_TEST(believes_only_a_disk_that_says_itself_that_it_has_heads)
{
    static const struct {
        const char *udev;
        bool has_heads;
    } cases[] = {{"I:1\n", false},
                 {"I:1\nE:ID_ATA_ROTATION_RATE_RPM=0\n", false},
                 {"I:1\nE:ID_ATA_ROTATION_RATE_RPM=7200\n", true}};
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "8:16", "ext4", "/dev/sdb");
    add_block(&machine, "usb1/sdb", "8:16");
    set_attribute(&machine, "usb1/sdb/queue/rotational", "1\n");
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        scratch_write_text(&machine.scratch, "run/udev/data/b8:16", cases[i].udev);
        struct hr_volume volume = volume_of_card(&machine);
        ck_assert_int_eq(hr__volume_has_heads(&volume), cases[i].has_heads);
        hr__volume_finish(&volume);
    }
    machine_end(&machine);
}
END_TEST

HR_SUITE("platform/disk", names_a_disk_by_serial_then_partition_table, names_the_usb_device_a_disk_is_reached_through,
         takes_a_loop_device_for_the_disk_it_plays, believes_only_a_disk_that_says_itself_that_it_has_heads,
         walks_through_mapped_devices_to_every_disk, survives_a_tree_that_runs_in_a_circle,
         does_not_know_what_is_below_a_filesystem_that_hides_it, does_not_take_a_virtual_device_for_a_disk,
         names_a_disk_by_its_volume_only_where_it_has_no_other, does_not_name_a_disk_by_a_logical_volume,
         finds_the_one_disk_of_a_btrfs_over_two_of_its_partitions, finds_the_disks_a_btrfs_does_not_name_in_its_mount,
         does_not_believe_a_btrfs_that_lists_no_members, does_not_know_more_disks_than_it_can_hold)
