/* SPDX-License-Identifier: ISC */
/* A disk's folder in sysfs lies below those of all it hangs on: ".../0000:00:14.0/usb2/2-1/2-1.4/2-1.4:1.0/host6/...".
 * Names and attributes: the kernel's Documentation/ABI, sysfs-bus-usb, sysfs-bus-pci and sysfs-ata. */
#include "platform/link.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/path.h"
#include "platform/block.h"
#include "platform/sysfs.h"
#include "platform/usb_capability.h"

/* ---- What a component of the path is ---- */

static bool is_usb_device(const char *name)
{
    size_t bus = strspn(name, "0123456789");
    return bus && name[bus] == '-' && name[bus + 1] && !name[bus + 1 + strspn(name + bus + 1, "0123456789.")];
}

/* DOMAIN:BUS:DEVICE.FUNCTION */
static bool is_pci_function(const char *name)
{
    static const char hex[] = "0123456789abcdef";
    size_t domain = strspn(name, hex);
    const char *rest = name + domain;
    return domain >= 4 && strlen(rest) == strlen(":00:14.0") && rest[0] == ':' && strspn(rest + 1, hex) == 2 &&
           rest[3] == ':' && strspn(rest + 4, hex) == 2 && rest[6] == '.';
}

static bool is_numbered(const char *name, const char *word)
{
    size_t size = strlen(word);
    return strncmp(name, word, size) == 0 && name[size] && !name[size + strspn(name + size, "0123456789")];
}

static bool is_mmc_card(const char *name)
{
    return strncmp(name, "mmc", 3) == 0 && strchr(name, ':');
}

/* ---- What it tells ---- */

static unsigned count_of(const char *folder, const char *name)
{
    double number = hr__sysfs_number(folder, name);
    return number <= 64 ? (unsigned)number : 0;
}

/* A device that could more describes itself as USB 2.10 while it has to speak 2.0 (USB 3.2, 9.2.6.6). */
static void take_usb_maximum(struct hr_hop *hop, const char *folder)
{
    unsigned char store[1024];
    hop->mbit_per_s_max =
        hr__usb_capability_mbit(store, hr__sysfs_head(store, sizeof store, folder, "bos_descriptors"));
    hop->max_is_likely = hop->mbit_per_s_max == 0 && hr__sysfs_number(folder, "version") >= 2.1;
    if (hop->max_is_likely)
        hop->mbit_per_s_max = 5000;
}

static void take_usb(struct hr_hop *hop, const char *folder)
{
    unsigned in = count_of(folder, "rx_lanes"), out = count_of(folder, "tx_lanes");
    hop->kind = HR_HOP_USB;
    hop->mbit_per_s = hr__sysfs_number(folder, "speed");
    hop->lanes = in < out ? in : out;
    take_usb_maximum(hop, folder);
}

/* Bridges of a tunnel (USB4) all say 2.5 GT/s, whatever it carries. */
static bool is_tunnel(const struct hr_hop *hop, const char *folder)
{
    char value[32];
    return hop->mbit_per_s_max == 2500 && hr__sysfs_line(value, sizeof value, folder, "removable") &&
           strcmp(value, "removable") == 0 && hr__sysfs_line(value, sizeof value, folder, "class") &&
           strncmp(value, "0x0604", 6) == 0;
}

/* False for functions built into the chip, which have no link. */
static bool take_pcie(struct hr_hop *hop, const char *folder)
{
    hop->kind = HR_HOP_PCIE;
    hop->mbit_per_s = 1000 * hr__sysfs_number(folder, "current_link_speed");
    hop->lanes = count_of(folder, "current_link_width");
    hop->mbit_per_s_max = 1000 * hr__sysfs_number(folder, "max_link_speed");
    hop->lanes_max = count_of(folder, "max_link_width");
    return hop->mbit_per_s > 0 && hop->lanes > 0 && !is_tunnel(hop, folder);
}

/* ".../ata3" holds link3/ata_link/link3, whose lines read "6.0 Gbps". The kernel lowers a port's limit after errors. */
static void take_sata(struct hr_hop *hop, const char *folder)
{
    char name[64];
    const char *number = hr__path_last(folder) + strlen("ata");
    snprintf(name, sizeof name, "link%s/ata_link/link%s", number, number);
    char *link = hr__path_join(folder, name);
    hop->kind = HR_HOP_SATA;
    hop->lanes = 1;
    if (!link)
        return;
    hop->mbit_per_s = 1000 * hr__sysfs_number(link, "sata_spd");
    if (hr__sysfs_number(link, "sata_spd_limit") > 0)
        hop->mbit_per_s_max = 1000 * hr__sysfs_number(link, "hw_sata_spd_limit");
    free(link);
}

static void take_card(struct hr_way *way, struct hr_hop *hop, const char *folder)
{
    char status[160];
    hop->kind = HR_HOP_MMC;
    if (hr__sysfs_line(status, sizeof status, folder, "ssr"))
        (void)hr__card_class_read(&way->card_class, status);
}

/* ---- The way ---- */

/* Reads the component that ends `folder`; false when it is no link. */
static bool take_component(struct hr_way *way, struct hr_hop *hop, const char *folder)
{
    const char *name = hr__path_last(folder);
    bool is_first = way->hop_count == 0;
    if (is_usb_device(name))
        take_usb(hop, folder);
    else if (is_pci_function(name))
        return take_pcie(hop, folder);
    else if (is_numbered(name, "ata"))
        take_sata(hop, folder);
    else if (is_mmc_card(name) && is_first)
        take_card(way, hop, folder);
    else if (is_numbered(name, "virtio"))
        hop->kind = HR_HOP_VIRTUAL;
    else
        return false;
    return true;
}

static void set_port(struct hr_hop *hop, const char *path)
{
    size_t length = strlen(path), room = sizeof hop->port - 1;
    snprintf(hop->port, sizeof hop->port, "%s", path + (length > room ? length - room : 0));
}

static bool add(struct hr_way *way, const struct hr_hop *hop)
{
    if (way->hop_count < HR_HOPS_MAX)
        way->hops[way->hop_count++] = *hop;
    return hop->kind != HR_HOP_VIRTUAL;
}

/* A disk of an adapter we know nothing of: the adapter's link is not the disk's own. */
static void add_unknown(struct hr_way *way, const struct hr_hop *hop, bool is_nvme)
{
    if (way->hop_count == 0 && hop->kind == HR_HOP_PCIE && !is_nvme)
        (void)add(way, &(struct hr_hop){.kind = HR_HOP_UNKNOWN});
}

/* Cuts `folder` component by component, down to the `base` it lies below. Behind a virtual device stands no wire. */
static void climb(struct hr_way *way, char *folder, size_t base, bool is_nvme)
{
    bool goes_on = true;
    while (goes_on && strlen(folder) > base) {
        struct hr_hop hop = {.kind = HR_HOP_UNKNOWN};
        if (take_component(way, &hop, folder)) {
            set_port(&hop, folder + base);
            add_unknown(way, &hop, is_nvme);
            goes_on = add(way, &hop);
        }
        folder[hr__path_folder_length(folder)] = '\0';
    }
}

/* A drive with several controllers stands under virtual/nvme-subsystem; its folder there has links to them. */
static void open_controller(struct hr_block *block)
{
    struct hr_block controller = {.folder = NULL};
    char *subsystem = strstr(block->folder, "/nvme-subsystem/") ? hr__path_join(block->folder, "..") : NULL;
    DIR *stream = subsystem ? opendir(subsystem) : NULL;
    for (const struct dirent *entry; stream && !controller.folder && (entry = readdir(stream));) {
        if (is_numbered(entry->d_name, "nvme"))
            (void)hr__block_open(&controller, subsystem, entry->d_name);
    }
    if (stream)
        closedir(stream);
    free(subsystem);
    if (controller.folder) {
        free(block->folder);
        block->folder = controller.folder;
    }
}

/* `devices` is the root of all devices, links resolved. */
static void read_way(struct hr_way *way, struct hr_block *block, const char *devices, const char *disk)
{
    size_t base = strlen(devices) + 1;
    open_controller(block);
    if (!hr__path_contains(devices, block->folder))
        return;
    if (strncmp(block->folder + base, "virtual/", strlen("virtual/")) == 0)
        (void)add(way, &(struct hr_hop){.kind = HR_HOP_VIRTUAL});
    else
        climb(way, block->folder, base, strncmp(disk, "nvme", 4) == 0);
}

bool hr__way_of(struct hr_way *out, const char *disk, const struct hr_system_roots *roots)
{
    struct hr_block block = {.folder = NULL}, devices = {.folder = NULL};
    struct hr_way way = {.hop_count = 0};
    char *name = hr__path_join("class/block", disk);
    bool found = name && hr__block_open(&block, roots->sys, name) && hr__block_open(&devices, roots->sys, "devices");
    if (found) {
        read_way(&way, &block, devices.folder, disk);
        *out = way;
    }
    hr__block_release(&devices);
    hr__block_release(&block);
    free(name);
    return found;
}
