/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any text as what a system says of its mounts and devices, any bytes as what a device says of
 * itself. The first byte chooses which. */
#include <math.h>

#include <headrace/name.h>

#include "base/path.h"
#include "base/utf8.h"
#include "fuzzing.h"
#include "platform/block.h"
#include "platform/card_class.h"
#include "platform/link.h"
#include "platform/mount.h"
#include "platform/plugged.h"
#include "platform/superblock.h"
#include "platform/usb_capability.h"
#include "platform/volume.h"

/* ---- Mounts ---- */

/* As the kernel writes it. */
static void append_escaped(char *out, const char *field)
{
    for (out += strlen(out); *field; field++)
        out += snprintf(out, 5, strchr(" \t\n\\", *field) ? "\\%03o" : "%c", (unsigned char)*field);
}

static void write_mount_again(const struct hr_mount *mount)
{
    char *line = malloc(4 * (strlen(mount->mount_point) + strlen(mount->fs_type) + strlen(mount->source)) + 128);
    struct hr_mount again;
    must(line != NULL);
    sprintf(line, "40 1 %u:%u / ", mount->major, mount->minor);
    append_escaped(line, mount->mount_point);
    strcat(line, " rw,relatime shared:7 - ");
    append_escaped(line, mount->fs_type);
    strcat(line, " ");
    append_escaped(line, mount->source);
    strcat(line, " rw");
    must(hr__mount_parse(&again, line) && again.major == mount->major && again.minor == mount->minor);
    must(!strcmp(again.mount_point, mount->mount_point) && !strcmp(again.fs_type, mount->fs_type));
    must(!strcmp(again.source, mount->source));
    free(line);
}

static void read_mounts(struct fuzz_input input)
{
    uint64_t device = take_byte(&input);
    char *path = take_text(&input), *text = take_text(&input), *twice = copy_of(text, strlen(text)), *rest = text;
    struct hr_mount mount;
    while (hr__mount_next(&mount, &rest))
        write_mount_again(&mount);
    if (*path == '/' && hr__mount_find(&mount, twice, path, device))
        must(!mount.mount_point || hr__path_contains(mount.mount_point, path));
    free(path), free(text), free(twice);
}

/* ---- What a device says of itself ---- */

static void read_device(struct fuzz_input input)
{
    unsigned char bytes[HR_SUPERBLOCK_BYTES] = {0};
    char *exact = copy_of(input.at, input.left), uuid[HR_UUID_TEXT_SIZE];
    struct hr_superblock superblock;
    struct hr_card_class class = {.bytes_per_s = 0};
    double mbit = hr__usb_capability_mbit((const unsigned char *)exact, input.left);
    must(isfinite(mbit) && mbit >= 0);
    if (hr__card_class_read(&class, exact))
        must(strlen(exact) == 128 && class.bytes_per_s > 0 && class.bytes_per_s <= 90e6 && *class.name);
    memcpy(bytes, input.at, input.left < sizeof bytes ? input.left : sizeof bytes);
    if (hr__superblock_read(&superblock, bytes))
        must(*superblock.uuid && memchr(superblock.label, '\0', sizeof superblock.label));
    if (hr__partition_table_id(uuid, bytes))
        must(strspn(uuid, "0123456789abcdef-") == strlen(uuid) && *uuid);
    free(exact);
}

/* ---- The tree ---- */

/* Below the folder of the device itself, or of the one it hangs on. */
static const char *const attributes[] = {"dev",
                                         "size",
                                         "removable",
                                         "wwid",
                                         "serial",
                                         "queue/rotational",
                                         "hidden",
                                         "partition",
                                         "loop/backing_file",
                                         "device/model",
                                         "device/name",
                                         "device/type",
                                         "device/wwid",
                                         "device/serial",
                                         "device/cid",
                                         "../speed",
                                         "../rx_lanes",
                                         "../tx_lanes",
                                         "../bos_descriptors",
                                         "../version",
                                         "../ssr",
                                         "../class",
                                         "../current_link_speed",
                                         "../current_link_width",
                                         "../max_link_speed",
                                         "../max_link_width",
                                         "../../speed",
                                         "../../rx_lanes",
                                         "../../bos_descriptors",
                                         "../../version",
                                         "../../current_link_speed",
                                         "../../current_link_width",
                                         "../../max_link_speed",
                                         "../../removable",
                                         "../../class"};
enum { ATTRIBUTE_COUNT = sizeof attributes / sizeof *attributes };

static void make_folders(const char *path)
{
    char *copy = copy_of(path, strlen(path));
    for (char *slash = strchr(copy + strlen(fuzz_folder) + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        mkdir(copy, 0700);
        *slash = '/';
    }
    free(copy);
}

static void put(const char *name, const char *bytes, size_t size)
{
    make_folders(fuzz_path(name));
    int descriptor = open(fuzz_path(name), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (descriptor >= 0) {
        must(write(descriptor, bytes, size) == (ssize_t)size);
        close(descriptor);
    }
}

/* Where the device stands, if the input names a fit place for it. */
static char *take_device(struct fuzz_input *input)
{
    char *path = take_text(input);
    path[strlen(path) < 200 ? strlen(path) : 200] = '\0';
    if (hr__path_is_inside(path))
        return path;
    free(path);
    return copy_of("pci0000:00/0000:00:14.0/usb2/2-1/2-1:1.0/host6/target6:0:0/6:0:0:0/block/sda", 76);
}

static void put_device(struct fuzz_input *input, const char *device)
{
    char name[600], target[600];
    while (input->left > 0) {
        const char *attribute = attributes[take_byte(input) % ATTRIBUTE_COUNT];
        size_t size = take_byte(input);
        size = size < input->left ? size : input->left;
        snprintf(name, sizeof name, "sys/devices/%s/%s", device, attribute);
        put(name, (const char *)input->at, size);
        input->at += size, input->left -= size;
    }
    snprintf(name, sizeof name, "sys/class/block/%s", hr__path_last(device));
    snprintf(target, sizeof target, "../../devices/%s", device);
    make_folders(fuzz_path(name));
    (void)!symlink(target, fuzz_path(name));
    snprintf(name, sizeof name, "sys/devices/%s/.", device);
    make_folders(fuzz_path(name));
    make_folders(fuzz_path("sys/dev/block/8:1"));
    (void)!symlink(target, fuzz_path("sys/dev/block/8:1"));
}

static void check_text(const char *text, size_t size)
{
    must(memchr(text, '\0', size) != NULL);
}

static void check_disks(const struct hr_volume *volume)
{
    must(volume->disk_count <= HR_DISKS_MAX);
    for (size_t i = 0; i < volume->disk_count; i++) {
        check_text(volume->disks[i].name, sizeof volume->disks[i].name);
        check_text(volume->disks[i].identity, sizeof volume->disks[i].identity);
        check_text(volume->disks[i].link, sizeof volume->disks[i].link);
        must(hr__utf8_is_valid(volume->disks[i].identity, strlen(volume->disks[i].identity)));
        must(*volume->disks[i].identity || !volume->disks_are_known);
    }
}

static void check_way(const struct hr_way *way)
{
    must(way->hop_count <= HR_HOPS_MAX);
    for (size_t i = 0; i < way->hop_count; i++) {
        check_text(way->hops[i].port, sizeof way->hops[i].port);
        must(isfinite(way->hops[i].mbit_per_s) && way->hops[i].mbit_per_s >= 0);
        must(isfinite(way->hops[i].mbit_per_s_max) && way->hops[i].mbit_per_s_max >= 0 && way->hops[i].lanes <= 64);
    }
}

static void ask_tree(const struct hr_system_roots *roots, const char *disk)
{
    struct hr_volume volume;
    struct hr_plugged *disks = NULL;
    struct hr_way way;
    size_t count = 0;
    if (hr__way_of(&way, disk, roots))
        check_way(&way);
    if (hr__volume_of(&volume, fuzz_folder, roots, NULL) == HR_OK) {
        must(volume.mount_point && volume.source && memchr(volume.fs_type, '\0', sizeof volume.fs_type));
        must(hr__utf8_is_valid(volume.label, strlen(volume.label)));
        must(hr__utf8_is_valid(volume.identity, strlen(volume.identity)));
        check_disks(&volume);
        hr__volume_finish(&volume);
    }
    if (hr__plugged_list(&disks, &count, roots, NULL) == HR_OK)
        for (size_t i = 0; i < count; i++)
            check_way(&disks[i].way);
    hr__plugged_free(disks, count);
}

static void read_tree(struct fuzz_input input)
{
    static char proc[128], sys[128], dev[128], run[128];
    const struct hr_system_roots roots = {.proc = proc, .sys = sys, .dev = dev, .run = run};
    fuzz_begin_folder();
    fuzz_empty_folder();
    snprintf(proc, sizeof proc, "%s/proc", fuzz_folder);
    snprintf(sys, sizeof sys, "%s/sys", fuzz_folder);
    snprintf(dev, sizeof dev, "%s/dev", fuzz_folder);
    snprintf(run, sizeof run, "%s/run", fuzz_folder);
    char *device = take_device(&input), *fs_type = take_text(&input), *properties = take_text(&input), line[1024];
    snprintf(line, sizeof line, "40 1 8:1 / / rw shared:7 - %.100s /dev/sda1 rw\n", fs_type);
    put("proc/self/mountinfo", line, strlen(line));
    put("run/udev/data/b8:1", properties, strlen(properties));
    size_t size = input.left < HR_SUPERBLOCK_BYTES ? input.left : HR_SUPERBLOCK_BYTES;
    snprintf(line, sizeof line, "dev/%s", hr__path_last(device));
    put(line, (const char *)input.at, size);
    put_device(&input, device);
    ask_tree(&roots, hr__path_last(device));
    free(device), free(fs_type), free(properties);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct fuzz_input input = {data, size};
    unsigned which = take_byte(&input) % 8;
    if (which < 4)
        read_mounts(input);
    else if (which < 7)
        read_device(input);
    else
        read_tree(input);
    return 0;
}
