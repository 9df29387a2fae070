/* SPDX-License-Identifier: ISC */
/* What is plugged into a made-up system, and what is said of it. Trees as in tests/platform/test_link.c. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <headrace/devices.h>

#include "../platform/machine_fixture.h"
#include "suite.h"

#define XHCI "pci0000:00/0000:00:14.0"
#define STORAGE ":1.0/host6/target6:0:0/6:0:0:0"
#define HUB XHCI "/usb2/2-1"
#define READER HUB "/2-1.1"
#define SSD HUB "/2-1.2"

static struct machine machine;
static struct hr_devices *devices;

static void set(const char *folder, const char *name, const char *value)
{
    char path[600];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    set_attribute(&machine, path, value);
}

static void begin(void)
{
    machine_begin(&machine);
    scratch_write_text(&machine.scratch, "proc/self/mountinfo", "");
}

static void plug(const char *path, const char *number)
{
    add_block(&machine, path, number);
    set(path, "size", "250000000\n");
}

static void set_usb(const char *device, const char *speed, const char *version)
{
    set(device, "speed", speed);
    set(device, "version", version);
}

static void set_pcie(const char *function, const char *speed, const char *width)
{
    set(function, "current_link_speed", speed);
    set(function, "current_link_width", width);
    set(function, "max_link_speed", "16.0 GT/s PCIe\n");
    set(function, "max_link_width", "4\n");
}

static void list(void)
{
    struct hr_fault fault = {0};
    ck_assert_msg(hr_devices_create(&devices, machine.scratch.path, &fault) == HR_OK, "%s", fault.text);
}

static void end(void)
{
    hr_devices_destroy(devices);
    devices = NULL;
    machine_end(&machine);
}

static const struct hr_device *named(const char *name)
{
    for (size_t i = 0; i < devices->device_count; i++) {
        if (strcmp(devices->devices[i].name, name) == 0)
            return &devices->devices[i];
    }
    ck_abort_msg("%s is not listed", name);
}

static void expect_ceiling(const char *name, const char *link, double mb_per_s)
{
    const struct hr_device *device = named(name);
    ck_assert_str_eq(device->link.name, link);
    ck_assert_msg(fabs(device->ceiling_bytes_per_s / 1e6 - mb_per_s) <= 0.01, "%f", device->ceiling_bytes_per_s / 1e6);
}

/* Just these warnings; NULL ends them. */
static void expect_warnings(const char *name, const char *first, const char *second)
{
    const struct hr_device *device = named(name);
    const char *const wanted[] = {first, second};
    size_t count = first ? second ? 2 : 1 : 0;
    for (size_t i = 0; i < device->warning_count && i < count; i++)
        ck_assert_str_eq(device->warnings[i], wanted[i]);
    ck_assert_msg(device->warning_count == count, "%s: %zu, the last: %s", name, device->warning_count,
                  device->warning_count ? device->warnings[device->warning_count - 1] : "");
}

START_TEST(lists_disks_cards_and_empty_readers_by_name)
{
    begin();
    plug(READER "/2-1.1" STORAGE "/block/sdc", "8:32");
    set(READER "/2-1.1" STORAGE, "model", "Reader          \n");
    set(READER "/2-1.1" STORAGE "/block/sdc", "device/model", "Reader          \n");
    set(READER "/2-1.1" STORAGE "/block/sdc", "removable", "1\n");
    set(READER "/2-1.1" STORAGE "/block/sdc", "size", "0\n");
    plug("pci0000:00/0000:00:17.0/ata1/host0/target0:0:0/0:0:0:0/block/sda", "8:0");
    add_partition(&machine, "pci0000:00/0000:00:17.0/ata1/host0/target0:0:0/0:0:0:0/block/sda/sda1", "8:1");
    list();
    ck_assert_uint_eq(devices->device_count, 2);
    ck_assert_str_eq(devices->devices[0].name, "sda");
    ck_assert_uint_eq(devices->devices[0].size_bytes, 128000000000);
    ck_assert_str_eq(devices->devices[1].name, "sdc");
    ck_assert_str_eq(devices->devices[1].model, "Reader");
    ck_assert_uint_eq(devices->devices[1].size_bytes, 0);
    ck_assert(devices->devices[1].is_removable);
    end();
}
END_TEST

START_TEST(leaves_out_what_is_no_disk_to_plug_in)
{
    begin();
    plug("virtual/block/loop0", "7:0");
    plug("virtual/block/zram0", "252:0");
    plug("virtual/block/dm-0", "253:0");
    plug("pci0000:00/0000:00:17.0/ata2/host1/target1:0:0/1:0:0:0/block/sr0", "11:0");
    set("pci0000:00/0000:00:17.0/ata2/host1/target1:0:0/1:0:0:0/block/sr0", "device/type", "5\n");
    plug("platform/mmc/mmc_host/mmc0/mmc0:0001/block/mmcblk0/mmcblk0boot0", "179:8");
    plug("pci0000:00/0000:03:00.0/nvme/nvme0/nvme0c0n1", "259:1");
    set("pci0000:00/0000:03:00.0/nvme/nvme0/nvme0c0n1", "hidden", "1\n");
    plug("platform/floppy/block/sdz", "8:240");
    set("platform/floppy/block/sdz", "size", "0\n");
    list();
    ck_assert_uint_eq(devices->device_count, 0);
    end();
}
END_TEST

START_TEST(says_what_is_mounted_where_and_knows_the_disk_as_the_ledger_does)
{
    begin();
    plug("virtual/block/loop3", "7:3");
    set("virtual/block/loop3", "loop/backing_file", "/images/northmere.img\n");
    mount_card(&machine, "7:3", "exfat", "/dev/loop3");
    list();
    ck_assert_uint_eq(devices->device_count, 1);
    ck_assert_str_eq(named("loop3")->mount_points, scratch_path(&machine.scratch, "card"));
    struct hr_volume volume = volume_of_card(&machine);
    ck_assert_str_eq(named("loop3")->identity, volume.disks[0].identity);
    ck_assert_str_eq(named("loop3")->identity, "file:/images/northmere.img");
    expect_ceiling("loop3", "virtual", 0);
    expect_warnings("loop3", NULL, NULL);
    hr__volume_finish(&volume);
    end();
}
END_TEST

/* A card mounted whole by a reader that tells no serial: the ledger knows it by its volume. */
START_TEST(knows_a_disk_that_tells_nothing_by_the_volume_that_fills_it)
{
    begin();
    plug(READER "/2-1.1" STORAGE "/block/sdb", "8:16");
    mount_card(&machine, "8:16", "exfat", "/dev/sdb");
    scratch_write_text(&machine.scratch, "run/udev/data/b8:16", "I:1\nE:ID_FS_UUID=4E4D-0417\n");
    list();
    ck_assert_str_eq(named("sdb")->identity, "uuid:4E4D-0417");
    end();
}
END_TEST

START_TEST(says_that_a_volume_is_mounted_which_it_may_not_look_at)
{
    begin();
    plug(READER "/2-1.1" STORAGE "/block/sdb", "8:16");
    scratch_write_text(&machine.scratch, "proc/self/mountinfo",
                       "40 1 8:16 / /nowhere/match\\040day rw shared:7 - exfat /dev/sdb rw\n");
    list();
    ck_assert_str_eq(named("sdb")->mount_points, "/nowhere/match day");
    end();
}
END_TEST

START_TEST(finds_the_disk_below_what_is_made_of_disks)
{
    begin();
    plug("pci0000:00/0000:00:17.0/ata1/block/sda", "8:0");
    add_partition(&machine, "pci0000:00/0000:00:17.0/ata1/block/sda/sda1", "8:1");
    plug("virtual/block/dm-0", "253:0");
    link_to(&machine, "../../../../pci0000:00/0000:00:17.0/ata1/block/sda/sda1",
            "sys/devices/virtual/block/dm-0/slaves/sda1");
    mount_card(&machine, "253:0", "ext4", "/dev/mapper/vault");
    list();
    ck_assert_uint_eq(devices->device_count, 1);
    ck_assert_str_eq(named("sda")->mount_points, scratch_path(&machine.scratch, "card"));
    end();
}
END_TEST

/* 128 hexadecimal digits with the video speed class at byte 15. */
static void set_card_class(const char *card, const char *video)
{
    char status[130];
    memset(status, '0', 128);
    memcpy(status + 2 * 15, video, 2);
    memcpy(status + 128, "\n", 2);
    set(card, "ssr", status);
}

START_TEST(warns_of_a_fast_device_at_the_speed_of_usb_2)
{
    static const unsigned char store[] = {5, 15, 21, 0, 1, 16, 16, 10, 0, 0, 0, 0, 0, 0, 17, 0, 0, 0x30, 0x40, 10, 0};
    begin();
    plug(XHCI "/usb1/1-3/1-3" STORAGE "/block/sdb", "8:16");
    set_usb(XHCI "/usb1/1-3", "480\n", " 2.10\n");
    plug(XHCI "/usb1/1-4/1-4" STORAGE "/block/sdc", "8:32");
    set_usb(XHCI "/usb1/1-4", "480\n", " 2.10\n");
    scratch_write(&machine.scratch, "sys/devices/" XHCI "/usb1/1-4/bos_descriptors", store, sizeof store);
    plug(XHCI "/usb1/1-5/1-5" STORAGE "/block/sdd", "8:48");
    set_usb(XHCI "/usb1/1-5", "480\n", " 2.00\n");
    plug(XHCI "/usb2/2-1/2-1" STORAGE "/block/sde", "8:64");
    set_usb(XHCI "/usb2/2-1", "5000\n", " 3.20\n");
    list();
    expect_ceiling("sdb", "USB 480 Mb/s", 53.248);
    expect_ceiling("sde", "USB 5 Gb/s", 500);
    expect_warnings("sdb", "Runs at USB 480 Mb/s, can probably do USB 5 Gb/s: cable, port or hub.", NULL);
    expect_warnings("sdc", "Runs at USB 480 Mb/s, can do USB 10 Gb/s: cable, port or hub.", NULL);
    expect_warnings("sdd", NULL, NULL);
    expect_warnings("sde", NULL, NULL);
    end();
}
END_TEST

START_TEST(warns_of_two_on_one_hub_but_not_of_an_empty_reader)
{
    begin();
    set_usb(HUB, "5000\n", " 3.00\n");
    set_usb(READER, "5000\n", " 3.00\n");
    set_usb(SSD, "5000\n", " 3.00\n");
    plug(READER "/2-1.1" STORAGE "/block/sdb", "8:16");
    plug(SSD "/2-1.2" STORAGE "/block/sdc", "8:32");
    plug(XHCI "/usb2/2-2/2-2" STORAGE "/block/sdd", "8:48");
    set_usb(XHCI "/usb2/2-2", "5000\n", " 3.00\n");
    plug(HUB "/2-1.3/2-1.3" STORAGE "/block/sde", "8:64");
    set_usb(HUB "/2-1.3", "5000\n", " 3.00\n");
    set(HUB "/2-1.3/2-1.3" STORAGE "/block/sde", "size", "0\n");
    set(HUB "/2-1.3/2-1.3" STORAGE "/block/sde", "removable", "1\n");
    list();
    expect_warnings("sdb", "Shares the 500 MB/s of one hub with sdc: slower when busy at once.", NULL);
    expect_warnings("sdc", "Shares the 500 MB/s of one hub with sdb: slower when busy at once.", NULL);
    expect_warnings("sdd", NULL, NULL);
    ck_assert_str_eq(named("sdb")->link.identity, HUB);
    ck_assert_str_eq(named("sdc")->link.identity, HUB);
    ck_assert_str_eq(named("sdd")->link.identity, XHCI "/usb2/2-2");
    hr_devices_destroy(devices);
    set(READER "/2-1.1" STORAGE "/block/sdb", "size", "0\n");
    set(READER "/2-1.1" STORAGE "/block/sdb", "removable", "1\n");
    list();
    expect_warnings("sdb", NULL, NULL);
    expect_warnings("sdc", NULL, NULL);
    end();
}
END_TEST

START_TEST(does_not_warn_of_a_hub_with_room_for_all)
{
    begin();
    set_usb(HUB, "10000\n", " 3.20\n");
    set_usb(READER, "5000\n", " 3.00\n");
    set_usb(SSD, "5000\n", " 3.00\n");
    plug(READER "/2-1.1" STORAGE "/block/sdb", "8:16");
    plug(SSD "/2-1.2" STORAGE "/block/sdc", "8:32");
    list();
    expect_warnings("sdb", NULL, NULL);
    expect_warnings("sdc", NULL, NULL);
    end();
}
END_TEST

START_TEST(warns_of_two_cards_in_one_reader)
{
    begin();
    set_usb(HUB, "5000\n", " 3.00\n");
    set_usb(READER, "5000\n", " 3.00\n");
    plug(READER "/2-1.1:1.0/host6/target6:0:0/6:0:0:0/block/sdb", "8:16");
    plug(READER "/2-1.1:1.0/host6/target6:0:0/6:0:0:1/block/sdc", "8:32");
    list();
    expect_warnings("sdb", "Shares the 500 MB/s of one reader with sdc: slower when busy at once.", NULL);
    end();
}
END_TEST

START_TEST(takes_the_lowest_ceiling_on_the_way)
{
    begin();
    set_usb(HUB, "480\n", " 2.00\n");
    set_usb(SSD, "5000\n", " 3.00\n");
    plug(SSD "/2-1.2" STORAGE "/block/sdc", "8:32");
    set_pcie("pci0000:00/0000:00:1c.0", "2.5 GT/s PCIe\n", "1\n");
    plug("pci0000:00/0000:00:1c.0/0000:05:00.0/usb4/4-1/4-1" STORAGE "/block/sdd", "8:48");
    set_usb("pci0000:00/0000:00:1c.0/0000:05:00.0/usb4/4-1", "10000\n", " 3.20\n");
    list();
    expect_ceiling("sdc", "USB 5 Gb/s", 53.248);
    expect_warnings("sdc", "A link on the way carries 53 MB/s (USB 480 Mb/s), its own 500 MB/s.", NULL);
    expect_ceiling("sdd", "USB 10 Gb/s", 250);
    expect_warnings("sdd", "A link on the way carries 250 MB/s (PCIe 1.0 x1), its own 1212 MB/s.", NULL);
    ck_assert_str_eq(named("sdd")->link.identity, "pci0000:00/0000:00:1c.0");
    end();
}
END_TEST

START_TEST(warns_of_a_drive_in_a_slot_of_fewer_or_slower_lanes)
{
    begin();
    plug("pci0000:00/0000:00:1d.0/0000:03:00.0/nvme/nvme0/nvme0n1", "259:0");
    set_pcie("pci0000:00/0000:00:1d.0/0000:03:00.0", "8.0 GT/s PCIe\n", "2\n");
    plug("pci0000:00/0000:00:1e.0/0000:04:00.0/nvme/nvme1/nvme1n1", "259:4");
    set_pcie("pci0000:00/0000:00:1e.0/0000:04:00.0", "16.0 GT/s PCIe\n", "4\n");
    plug("pci0000:00/0000:00:1f.0/0000:05:00.0/nvme/nvme2/nvme2n1", "259:8");
    set_pcie("pci0000:00/0000:00:1f.0/0000:05:00.0", "16.0 GT/s PCIe\n", "1\n");
    list();
    expect_ceiling("nvme0n1", "PCIe 3.0 x2", 1969.231);
    expect_warnings("nvme0n1", "Runs at PCIe 3.0 x2, can do PCIe 4.0 x4: slot, reader or adapter.", NULL);
    expect_ceiling("nvme1n1", "PCIe 4.0 x4", 7876.923);
    expect_warnings("nvme1n1", NULL, NULL);
    expect_warnings("nvme2n1", "Runs at PCIe 4.0 x1, can do PCIe 4.0 x4: slot, reader or adapter.", NULL);
    end();
}
END_TEST

START_TEST(warns_of_a_port_that_was_slowed_and_of_heads)
{
#define ATA "pci0000:00/0000:00:17.0/ata1"
    begin();
    plug(ATA "/host0/target0:0:0/0:0:0:0/block/sda", "8:0");
    set(ATA "/host0/target0:0:0/0:0:0:0/block/sda", "queue/rotational", "1\n");
    set(ATA, "link1/ata_link/link1/sata_spd", "3.0 Gbps\n");
    set(ATA, "link1/ata_link/link1/sata_spd_limit", "3.0 Gbps\n");
    set(ATA, "link1/ata_link/link1/hw_sata_spd_limit", "6.0 Gbps\n");
    list();
    expect_ceiling("sda", "SATA 3 Gb/s", 300);
    expect_warnings("sda", "Runs at SATA 3 Gb/s, can do SATA 6 Gb/s: errors, check the cable.",
                    "A disk with heads: slow at half-time, fit for the second copy.");
    end();
}
END_TEST

/* The kernel calls readers rotational that were never asked. */
START_TEST(does_not_take_a_card_for_a_disk_with_heads)
{
    begin();
    set_usb(READER, "5000\n", " 3.00\n");
    plug(READER "/2-1.1" STORAGE "/block/sdb", "8:16");
    set(READER "/2-1.1" STORAGE "/block/sdb", "queue/rotational", "1\n");
    set(READER "/2-1.1" STORAGE "/block/sdb", "removable", "1\n");
    list();
    expect_warnings("sdb", NULL, NULL);
    hr_devices_destroy(devices);
    set(READER "/2-1.1" STORAGE "/block/sdb", "removable", "0\n");
    list();
    expect_warnings("sdb", "It may be a disk with heads: slow at half-time if it is.", NULL);
    hr_devices_destroy(devices);
    scratch_write_text(&machine.scratch, "run/udev/data/b8:16", "I:1\nE:ID_ATA_ROTATION_RATE_RPM=0\n");
    list();
    expect_warnings("sdb", NULL, NULL);
    hr_devices_destroy(devices);
    scratch_write_text(&machine.scratch, "run/udev/data/b8:16", "I:1\nE:ID_ATA_ROTATION_RATE_RPM=5400\n");
    set(READER "/2-1.1" STORAGE "/block/sdb", "queue/rotational", "0\n");
    list();
    expect_warnings("sdb", "A disk with heads: slow at half-time, fit for the second copy.", NULL);
    end();
}
END_TEST

START_TEST(warns_of_a_card_faster_than_its_reader)
{
#define SLOT XHCI "/usb1/1-6/1-6:1.0/sd.1/mmc_host/mmc0/mmc0:aaaa"
    begin();
    set_usb(XHCI "/usb1/1-6", "480\n", " 2.00\n");
    plug(SLOT "/block/mmcblk0", "179:0");
    set(SLOT "/block/mmcblk0", "device/type", "SD\n");
    set_card_class(SLOT, "5a");
    list();
    expect_ceiling("mmcblk0", "card slot", 53.248);
    ck_assert_str_eq(named("mmcblk0")->card_class, "V90");
    ck_assert(named("mmcblk0")->is_removable);
    expect_warnings("mmcblk0", "Faster than its reader: class V90 is 90 MB/s or more, the reader 53 MB/s.", NULL);
    hr_devices_destroy(devices);
    set_card_class(SLOT, "1e");
    list();
    ck_assert_str_eq(named("mmcblk0")->card_class, "V30");
    expect_warnings("mmcblk0", NULL, NULL);
    end();
}
END_TEST

START_TEST(says_so_where_the_system_lists_no_devices)
{
    struct hr_fault fault = {0};
    begin();
    ck_assert_int_eq(hr_devices_create(&devices, machine.scratch.path, &fault), HR_UNSUPPORTED);
    ck_assert_ptr_null(devices);
    ck_assert(strstr(fault.text, "cannot list devices"));
    end();
}
END_TEST

HR_SUITE("devices/devices_list", lists_disks_cards_and_empty_readers_by_name, leaves_out_what_is_no_disk_to_plug_in,
         says_what_is_mounted_where_and_knows_the_disk_as_the_ledger_does,
         knows_a_disk_that_tells_nothing_by_the_volume_that_fills_it,
         says_that_a_volume_is_mounted_which_it_may_not_look_at, finds_the_disk_below_what_is_made_of_disks,
         warns_of_a_fast_device_at_the_speed_of_usb_2, warns_of_two_on_one_hub_but_not_of_an_empty_reader,
         does_not_warn_of_a_hub_with_room_for_all, warns_of_two_cards_in_one_reader,
         takes_the_lowest_ceiling_on_the_way, warns_of_a_drive_in_a_slot_of_fewer_or_slower_lanes,
         warns_of_a_port_that_was_slowed_and_of_heads, does_not_take_a_card_for_a_disk_with_heads,
         warns_of_a_card_faster_than_its_reader, says_so_where_the_system_lists_no_devices)
