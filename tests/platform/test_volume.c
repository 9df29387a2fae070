/* SPDX-License-Identifier: ISC */
/* Volumes in a made-up system: small trees of /proc, /sys, /dev and /run as the kernel's and udev's documentation has
 * them. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <unistd.h>

#include "platform/mount.h"
#include "platform_fixture.h"
#include "suite.h"

struct machine {
    struct scratch scratch;
    char proc[600], sys[600], dev[600], run[600];
    struct hr_system_roots roots;
};

static void machine_begin(struct machine *machine)
{
    scratch_begin(&machine->scratch);
    snprintf(machine->proc, sizeof machine->proc, "%s/proc", machine->scratch.path);
    snprintf(machine->sys, sizeof machine->sys, "%s/sys", machine->scratch.path);
    snprintf(machine->dev, sizeof machine->dev, "%s/dev", machine->scratch.path);
    snprintf(machine->run, sizeof machine->run, "%s/run", machine->scratch.path);
    machine->roots =
        (struct hr_system_roots){.proc = machine->proc, .sys = machine->sys, .dev = machine->dev, .run = machine->run};
    scratch_write_text(&machine->scratch, "card/.keep", "");
}

static void machine_end(struct machine *machine)
{
    scratch_end(&machine->scratch);
}

/* Mounts a volume at card/. */
static void mount_card(struct machine *machine, const char *number, const char *type, const char *source)
{
    char line[2048];
    snprintf(line, sizeof line,
             "1 0 254:99 / / rw - ext4 /dev/none rw\n40 1 %s / %s/card rw,relatime shared:7 - %s %s rw\n", number,
             machine->scratch.path, type, source);
    scratch_write_text(&machine->scratch, "proc/self/mountinfo", line);
}

static void link_to(struct machine *machine, const char *target, const char *name)
{
    scratch_write_text(&machine->scratch, name, "");
    ck_assert_int_eq(unlink(scratch_path(&machine->scratch, name)), 0);
    ck_assert_int_eq(symlink(target, scratch_path(&machine->scratch, name)), 0);
}

/* A block device: `path` below sys/devices ends in its name. */
static void add_block(struct machine *machine, const char *path, const char *number)
{
    char name[600], target[600];
    const char *slash = strrchr(path, '/');
    snprintf(name, sizeof name, "sys/devices/%s/dev", path);
    snprintf(target, sizeof target, "%s\n", number);
    scratch_write_text(&machine->scratch, name, target);
    snprintf(target, sizeof target, "../../devices/%s", path);
    snprintf(name, sizeof name, "sys/class/block/%s", slash ? slash + 1 : path);
    link_to(machine, target, name);
    snprintf(name, sizeof name, "sys/dev/block/%s", number);
    link_to(machine, target, name);
}

static void set_attribute(struct machine *machine, const char *path, const char *value)
{
    char name[600];
    snprintf(name, sizeof name, "sys/devices/%s", path);
    scratch_write_text(&machine->scratch, name, value);
}

static struct hr_volume volume_of_card(struct machine *machine)
{
    struct hr_volume volume;
    struct hr_fault fault = {0};
    ck_assert_msg(hr__volume_of(&volume, scratch_path(&machine->scratch, "card"), &machine->roots, &fault) == HR_OK,
                  "%s", fault.text);
    return volume;
}

/* What the machine says of its card's disk. */
static void expect_disk(struct machine *machine, const char *name, const char *identity)
{
    struct hr_volume volume = volume_of_card(machine);
    ck_assert_uint_eq(volume.disk_count, 1);
    ck_assert_str_eq(volume.disks[0].name, name);
    ck_assert_str_eq(volume.disks[0].identity, identity);
    hr__volume_finish(&volume);
}

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
    ck_assert_str_eq(mount.options, "rw,noatime");
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
    add_block(&machine, "usb1/sdb/sdb1", "8:17");
    set_attribute(&machine, "usb1/sdb/sdb1/partition", "1\n");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert(volume.identity_is_weak);
    ck_assert_int_eq(strncmp(volume.identity, "size:vfat-", 10), 0);
    ck_assert_str_eq(volume.disks[0].identity, "name:sdb");
    hr__volume_finish(&volume);

    unsigned char boot[4096] = {0xEB, 0x58, 0x90};
    memcpy(boot + 82, "FAT32   ", 8);
    memcpy(boot + 67, "\x78\x56\x34\x12", 4);
    memcpy(boot + 71, "CUP FINAL  ", 11);
    scratch_write(&machine.scratch, "dev/sdb1", boot, sizeof boot);
    volume = volume_of_card(&machine);
    ck_assert(!volume.identity_is_weak);
    ck_assert_str_eq(volume.identity, "uuid:1234-5678");
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

START_TEST(names_a_disk_by_serial_then_partition_table)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "8:17", "ext4", "/dev/sdb1");
    add_block(&machine, "usb1/sdb", "8:16");
    add_block(&machine, "usb1/sdb/sdb1", "8:17");
    set_attribute(&machine, "usb1/sdb/sdb1/partition", "1\n");
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
    set_attribute(&machine, "virtual/block/loop3/queue/rotational", "1\n");
    expect_disk(&machine, "loop3", "file:/images/a b.img");
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert(volume.disks[0].is_loop && volume.disks[0].is_rotational && volume.is_fuse);
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

START_TEST(walks_through_mapped_devices_to_every_disk)
{
    struct machine machine;
    machine_begin(&machine);
    mount_card(&machine, "0:61", "btrfs", "/dev/mapper/vault");
    link_to(&machine, "../dm-0", "dev/mapper/vault");
    scratch_write_text(&machine.scratch, "dev/dm-0", "");
    add_block(&machine, "virtual/block/dm-0", "253:0");
    add_block(&machine, "virtual/block/md0", "9:0");
    add_block(&machine, "pci/sda", "8:0");
    add_block(&machine, "pci/sda/sda1", "8:1");
    add_block(&machine, "pci/sda/sda2", "8:2");
    add_block(&machine, "pci/sdb", "8:16");
    set_attribute(&machine, "pci/sda/sda1/partition", "1\n");
    set_attribute(&machine, "pci/sda/sda2/partition", "2\n");
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
    machine_end(&machine);
}
END_TEST

START_TEST(tells_volumes_that_share_a_disk)
{
    struct hr_volume a = {.device = 1, .disk_count = 2}, b = {.device = 2, .disk_count = 1};
    a.disks[0] = (struct hr_disk){.name = "sda", .identity = "serial:1"};
    a.disks[1] = (struct hr_disk){.name = "sdb", .identity = "serial:2"};
    b.disks[0] = (struct hr_disk){.name = "sdc", .identity = "serial:3"};
    ck_assert(!hr__volume_shares_disk(&a, &b));
    b.disks[0] = (struct hr_disk){.name = "sdc", .identity = "serial:2"};
    ck_assert(hr__volume_shares_disk(&a, &b));
    b.disks[0] = (struct hr_disk){.name = "sdb", .identity = "serial:3"};
    ck_assert(hr__volume_shares_disk(&b, &a));
    b = (struct hr_volume){.device = 1};
    ck_assert(hr__volume_shares_disk(&a, &b));
    b.device = 2;
    ck_assert(!hr__volume_shares_disk(&a, &b));
}
END_TEST

START_TEST(says_when_there_is_no_such_place_or_no_mount_of_it)
{
    struct machine machine;
    struct hr_volume volume;
    machine_begin(&machine);
    scratch_write_text(&machine.scratch, "proc/self/mountinfo", "");
    const char *card = scratch_path(&machine.scratch, "card");
    ck_assert_int_eq(hr__volume_of(&volume, card, &machine.roots, NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__volume_of(&volume, scratch_path(&machine.scratch, "none"), &machine.roots, NULL),
                     HR_NOT_FOUND);
    machine_end(&machine);
}
END_TEST

HR_SUITE("platform/volume", parses_a_line_of_mountinfo, refuses_torn_lines_of_mountinfo,
         finds_the_mount_that_answers_for_a_path, knows_what_types_of_filesystem_are_like,
         asks_a_volume_for_its_uuid_then_udev_then_its_first_bytes, names_a_disk_by_serial_then_partition_table,
         takes_a_loop_device_for_the_disk_it_plays, walks_through_mapped_devices_to_every_disk,
         survives_a_tree_that_runs_in_a_circle, tells_volumes_that_share_a_disk,
         says_when_there_is_no_such_place_or_no_mount_of_it)
