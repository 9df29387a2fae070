/* SPDX-License-Identifier: ISC */
/* From a disk up to the machine, in a made-up system. Paths and attributes as the kernel's Documentation/ABI has them
 * (sysfs-bus-usb, sysfs-bus-pci, sysfs-ata); those of cards and of drives with several controllers from memory. */
#include "platform/link.h"

#include <stdio.h>
#include <string.h>

#include "machine_fixture.h"
#include "suite.h"

static struct machine machine;

static void setup_disk(const char *path)
{
    machine_begin(&machine);
    add_block(&machine, path, "8:16");
}

static void set(const char *folder, const char *name, const char *value)
{
    char path[600];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    set_attribute(&machine, path, value);
}

/* Ends the machine. */
static struct hr_way way_of(const char *disk)
{
    struct hr_way way;
    ck_assert(hr__way_of(&way, disk, &machine.roots));
    machine_end(&machine);
    return way;
}

#define XHCI "pci0000:00/0000:00:14.0"
#define READER XHCI "/usb2/2-1/2-1.4"

static void set_usb(const char *device, const char *speed, const char *lanes, const char *version)
{
    set(device, "speed", speed);
    set(device, "rx_lanes", lanes);
    set(device, "tx_lanes", lanes);
    set(device, "version", version);
}

START_TEST(goes_from_a_reader_by_its_hub)
{
    setup_disk(READER "/2-1.4:1.0/host6/target6:0:0/6:0:0:1/block/sdb");
    set_usb(READER, "5000\n", "1\n", " 3.20\n");
    set_usb(XHCI "/usb2/2-1", "10000\n", "1\n", " 3.20\n");
    set_usb(XHCI "/usb2", "20000\n", "1\n", " 3.20\n");
    set(XHCI, "current_link_speed", "Unknown\n");
    set(XHCI, "current_link_width", "0\n");
    struct hr_way way = way_of("sdb");
    ck_assert_uint_eq(way.hop_count, 2);
    ck_assert_int_eq(way.hops[0].kind, HR_HOP_USB);
    ck_assert_double_eq(way.hops[0].mbit_per_s, 5000);
    ck_assert_uint_eq(way.hops[0].lanes, 1);
    ck_assert_str_eq(way.hops[0].port, READER);
    ck_assert_double_eq(way.hops[1].mbit_per_s, 10000);
    ck_assert_str_eq(way.hops[1].port, XHCI "/usb2/2-1");
}
END_TEST

START_TEST(counts_the_lanes_of_the_slower_direction)
{
    setup_disk(READER "/2-1.4:1.0/host6/target6:0:0/6:0:0:1/block/sdb");
    set_usb(READER, "20000\n", "2\n", " 3.20\n");
    ck_assert_uint_eq(way_of("sdb").hops[0].lanes, 2);
    setup_disk(READER "/2-1.4:1.0/host6/target6:0:0/6:0:0:1/block/sdb");
    set_usb(READER, "20000\n", "2\n", " 3.20\n");
    set(READER, "tx_lanes", "1\n");
    ck_assert_uint_eq(way_of("sdb").hops[0].lanes, 1);
}
END_TEST

/* USB 3.2, 9.2.6.6 (from memory): a device that could more says 2.10 while it speaks 2.0; link power management alone
 * makes it 2.01. */
START_TEST(knows_what_a_usb_device_could_by_its_version)
{
    static const struct {
        const char *version;
        double mbit;
    } rows[] = {{" 2.00\n", 0}, {" 2.01\n", 0}, {" 2.10\n", 5000}, {" 3.00\n", 5000}, {"\n", 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        setup_disk(XHCI "/usb1/1-3/1-3:1.0/host6/target6:0:0/6:0:0:0/block/sdb");
        set_usb(XHCI "/usb1/1-3", "480\n", "1\n", rows[i].version);
        struct hr_way way = way_of("sdb");
        ck_assert_double_eq(way.hops[0].mbit_per_s_max, rows[i].mbit);
        ck_assert(way.hops[0].max_is_likely == (rows[i].mbit > 0));
    }
}
END_TEST

START_TEST(believes_what_a_usb_device_tells_of_itself_before_its_version)
{
    /* One SuperSpeedPlus capability with one sublink of 10 Gb/s. */
    static const unsigned char store[] = {5, 15, 21, 0, 1, 16, 16, 10, 0, 0, 0, 0, 0, 0, 17, 0, 0, 0x30, 0x40, 10, 0};
    setup_disk(XHCI "/usb1/1-3/1-3:1.0/host6/target6:0:0/6:0:0:0/block/sdb");
    set_usb(XHCI "/usb1/1-3", "480\n", "1\n", " 2.10\n");
    scratch_write(&machine.scratch, "sys/devices/" XHCI "/usb1/1-3/bos_descriptors", store, sizeof store);
    struct hr_way way = way_of("sdb");
    ck_assert_double_eq(way.hops[0].mbit_per_s_max, 10000);
    ck_assert(!way.hops[0].max_is_likely);
}
END_TEST

#define BRIDGE "pci0000:00/0000:00:1d.0"
#define NVME BRIDGE "/0000:03:00.0"

static void set_pcie(const char *function, const char *speed, const char *width, const char *speed_max,
                     const char *width_max)
{
    set(function, "current_link_speed", speed);
    set(function, "current_link_width", width);
    set(function, "max_link_speed", speed_max);
    set(function, "max_link_width", width_max);
}

static void expect_nvme(void)
{
    set_pcie(NVME, "8.0 GT/s PCIe\n", "2\n", "16.0 GT/s PCIe\n", "4\n");
    set_pcie(BRIDGE, "8 GT/s\n", "2\n", "8 GT/s\n", "4\n");
    struct hr_way way = way_of("nvme0n1");
    ck_assert_uint_eq(way.hop_count, 2);
    ck_assert_int_eq(way.hops[0].kind, HR_HOP_PCIE);
    ck_assert_double_eq(way.hops[0].mbit_per_s, 8000);
    ck_assert_uint_eq(way.hops[0].lanes, 2);
    ck_assert_double_eq(way.hops[0].mbit_per_s_max, 16000);
    ck_assert_uint_eq(way.hops[0].lanes_max, 4);
    ck_assert_double_eq(way.hops[1].mbit_per_s, 8000);
    ck_assert_str_eq(way.hops[1].port, BRIDGE);
}

START_TEST(goes_from_a_drive_by_its_slot)
{
    setup_disk(NVME "/nvme/nvme0/nvme0n1");
    expect_nvme();
}
END_TEST

START_TEST(goes_from_a_drive_of_several_controllers_by_the_first)
{
    setup_disk("virtual/nvme-subsystem/nvme-subsys0/nvme0n1");
    set(NVME "/nvme/nvme0", "model", "A\n");
    link_to(&machine, "../../../" NVME "/nvme/nvme0", "sys/devices/virtual/nvme-subsystem/nvme-subsys0/nvme0");
    expect_nvme();
}
END_TEST

/* USB4: bridges of a tunnel say 2.5 GT/s whatever it carries. */
START_TEST(leaves_out_the_bridges_of_a_tunnel)
{
    setup_disk(NVME "/nvme/nvme0/nvme0n1");
    set_pcie(NVME, "8.0 GT/s PCIe\n", "4\n", "8.0 GT/s PCIe\n", "4\n");
    set_pcie(BRIDGE, "2.5 GT/s PCIe\n", "4\n", "2.5 GT/s PCIe\n", "4\n");
    set(BRIDGE, "class", "0x060400\n");
    set(BRIDGE, "removable", "removable\n");
    struct hr_way way = way_of("nvme0n1");
    ck_assert_uint_eq(way.hop_count, 1);
    ck_assert_double_eq(way.hops[0].mbit_per_s, 8000);
}
END_TEST

#define SATA "pci0000:00/0000:00:17.0/ata3"

START_TEST(reads_a_port_of_sata_and_whether_the_kernel_slowed_it)
{
    static const struct {
        const char *limit;
        double mbit_max;
    } rows[] = {{"<unknown>\n", 0}, {"3.0 Gbps\n", 6000}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        setup_disk(SATA "/host2/target2:0:0/2:0:0:0/block/sda");
        set(SATA, "link3/ata_link/link3/sata_spd", "3.0 Gbps\n");
        set(SATA, "link3/ata_link/link3/sata_spd_limit", rows[i].limit);
        set(SATA, "link3/ata_link/link3/hw_sata_spd_limit", "6.0 Gbps\n");
        struct hr_way way = way_of("sda");
        ck_assert_uint_eq(way.hop_count, 1);
        ck_assert_int_eq(way.hops[0].kind, HR_HOP_SATA);
        ck_assert_double_eq(way.hops[0].mbit_per_s, 3000);
        ck_assert_double_eq(way.hops[0].mbit_per_s_max, rows[i].mbit_max);
        ck_assert_str_eq(way.hops[0].port, SATA);
    }
}
END_TEST

START_TEST(reads_the_class_of_a_card_in_a_reader_that_passes_it_on)
{
    char status[130] = "";
    memset(status, '0', 128);
    memcpy(status + 2 * 8, "04", 2);
    memcpy(status + 2 * 15, "5a", 2);
    status[128] = '\n';
    setup_disk(XHCI "/usb1/1-3/1-3:1.0/rtsx.1/mmc_host/mmc0/mmc0:aaaa/block/mmcblk0");
    set_usb(XHCI "/usb1/1-3", "480\n", "1\n", " 2.00\n");
    set(XHCI "/usb1/1-3/1-3:1.0/rtsx.1/mmc_host/mmc0/mmc0:aaaa", "ssr", status);
    struct hr_way way = way_of("mmcblk0");
    ck_assert_uint_eq(way.hop_count, 2);
    ck_assert_int_eq(way.hops[0].kind, HR_HOP_MMC);
    ck_assert_double_eq(way.hops[0].mbit_per_s, 0);
    ck_assert_int_eq(way.hops[1].kind, HR_HOP_USB);
    ck_assert_str_eq(way.card_class.name, "V90");
}
END_TEST

START_TEST(stops_at_what_is_virtual)
{
    static const char *const paths[] = {"virtual/block/loop0", "pci0000:00/0000:00:02.0/virtio1/block/loop0"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        setup_disk(paths[i]);
        set_pcie("pci0000:00/0000:00:02.0", "2.5 GT/s PCIe\n", "1\n", "2.5 GT/s PCIe\n", "1\n");
        struct hr_way way = way_of("loop0");
        ck_assert_uint_eq(way.hop_count, 1);
        ck_assert_int_eq(way.hops[0].kind, HR_HOP_VIRTUAL);
    }
}
END_TEST

START_TEST(does_not_take_the_link_of_an_adapter_for_a_disk_s_own)
{
    setup_disk(NVME "/host0/target0:0:0/0:0:0:0/block/sda");
    set_pcie(NVME, "8.0 GT/s PCIe\n", "8\n", "8.0 GT/s PCIe\n", "8\n");
    struct hr_way way = way_of("sda");
    ck_assert_uint_eq(way.hop_count, 2);
    ck_assert_int_eq(way.hops[0].kind, HR_HOP_UNKNOWN);
    ck_assert_int_eq(way.hops[1].kind, HR_HOP_PCIE);
}
END_TEST

START_TEST(survives_a_way_without_end_and_knows_no_disk_that_is_not_there)
{
    char path[400] = XHCI "/usb2";
    for (size_t i = 0; i < 24; i++)
        strcat(path, "/2-1");
    strcat(path, "/sdb");
    setup_disk(path);
    struct hr_way way;
    ck_assert(!hr__way_of(&way, "sdc", &machine.roots));
    ck_assert_uint_eq(way_of("sdb").hop_count, HR_HOPS_MAX);
}
END_TEST

HR_SUITE("platform/link", goes_from_a_reader_by_its_hub, counts_the_lanes_of_the_slower_direction,
         knows_what_a_usb_device_could_by_its_version, believes_what_a_usb_device_tells_of_itself_before_its_version,
         goes_from_a_drive_by_its_slot, goes_from_a_drive_of_several_controllers_by_the_first,
         leaves_out_the_bridges_of_a_tunnel, reads_a_port_of_sata_and_whether_the_kernel_slowed_it,
         reads_the_class_of_a_card_in_a_reader_that_passes_it_on, stops_at_what_is_virtual,
         does_not_take_the_link_of_an_adapter_for_a_disk_s_own,
         survives_a_way_without_end_and_knows_no_disk_that_is_not_there)
