/* SPDX-License-Identifier: ISC */
/* A made-up system: small trees of /proc, /sys, /dev and /run as the kernel's and udev's documentation has them. */
#ifndef HR_TESTS_MACHINE_FIXTURE_H
#define HR_TESTS_MACHINE_FIXTURE_H

#include "platform/volume.h"
#include "platform_fixture.h"

struct machine {
    struct scratch scratch;
    char proc[600], sys[600], dev[600], run[600];
    struct hr_system_roots roots;
};

void machine_begin(struct machine *machine);
void machine_end(struct machine *machine);

/* Mounts a volume at card/, and none but that and the root. */
void mount_card(struct machine *machine, const char *number, const char *type, const char *source);
void link_to(struct machine *machine, const char *target, const char *name);
/* A block device: `path` below sys/devices ends in its name. */
void add_block(struct machine *machine, const char *path, const char *number);
/* The same for a partition, whose path ends in its disk's name and its own. */
void add_partition(struct machine *machine, const char *path, const char *number);
void set_attribute(struct machine *machine, const char *path, const char *value);

struct hr_volume volume_of_card(struct machine *machine);
/* The machine says that the card stands on this disk alone. */
void expect_disk(struct machine *machine, const char *name, const char *identity);
/* The machine says that it cannot tell all the card's disks. */
void expect_unknown_disks(struct machine *machine);

#endif
