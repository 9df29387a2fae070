/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include <headrace/devices.h>

#include "base/fault.h"
#include "base/path.h"
#include "devices/device_link.h"
#include "devices/device_warnings.h"
#include "platform/plugged.h"

/* False: no memory; what was made so far is in *out, to be released all the same. */
static bool take_disk(struct hr_device *out, const struct hr_plugged *disk)
{
    *out = (struct hr_device){.name = strdup(disk->name),
                              .identity = strdup(disk->identity),
                              .model = strdup(disk->model),
                              .mount_points = strdup(disk->mount_points),
                              .size_bytes = disk->size_bytes,
                              .is_removable = disk->is_removable,
                              .is_rotational = disk->is_rotational,
                              .ceiling_bytes_per_s = hr__way_ceiling(&disk->way),
                              .class_bytes_per_s = disk->way.card_class.bytes_per_s};
    memcpy(out->card_class, disk->way.card_class.name, sizeof out->card_class);
    hr__way_link(&out->link, &disk->way);
    return out->name && out->identity && out->model && out->mount_points;
}

static bool take_disks(struct hr_devices *devices, const struct hr_plugged *disks, size_t count)
{
    devices->devices = calloc(count + 1, sizeof *devices->devices);
    bool done = devices->devices != NULL;
    for (size_t i = 0; done && i < count; i++, devices->device_count++)
        done = take_disk(&devices->devices[i], &disks[i]);
    return done && hr__device_warnings(devices->devices, disks, count);
}

static enum hr_status list(struct hr_devices *devices, const struct hr_system_roots *roots, struct hr_fault *fault)
{
    struct hr_plugged *disks = NULL;
    size_t count = 0;
    enum hr_status status = hr__plugged_list(&disks, &count, roots, fault);
    if (status == HR_OK && !take_disks(devices, disks, count))
        status = hr__fault_nomem(fault, "the list of devices");
    hr__plugged_free(disks, count);
    return status;
}

static enum hr_status list_below(struct hr_devices *devices, const char *root, struct hr_fault *fault)
{
    char *proc = hr__path_join(root, "proc"), *sys = hr__path_join(root, "sys"), *dev = hr__path_join(root, "dev"),
         *run = hr__path_join(root, "run");
    const struct hr_system_roots roots = {.proc = proc, .sys = sys, .dev = dev, .run = run};
    enum hr_status status =
        proc && sys && dev && run ? list(devices, &roots, fault) : hr__fault_nomem(fault, "the list of devices");
    free(proc);
    free(sys);
    free(dev);
    free(run);
    return status;
}

enum hr_status hr_devices_create(struct hr_devices **out, const char *root, struct hr_fault *fault)
{
    struct hr_devices *devices = calloc(1, sizeof *devices);
    if (!devices)
        return hr__fault_nomem(fault, "the list of devices");
    enum hr_status status = root ? list_below(devices, root, fault) : list(devices, &hr__system_roots, fault);
    if (status == HR_OK)
        *out = devices;
    else
        hr_devices_destroy(devices);
    return status;
}

static void release(struct hr_device *device)
{
    for (size_t i = 0; i < device->warning_count; i++)
        free(device->warnings[i]);
    free(device->warnings);
    free(device->mount_points);
    free(device->model);
    free(device->identity);
    free(device->name);
}

void hr_devices_destroy(struct hr_devices *devices)
{
    for (size_t i = 0; devices && i < devices->device_count; i++)
        release(&devices->devices[i]);
    if (devices)
        free(devices->devices);
    free(devices);
}
