/* SPDX-License-Identifier: ISC */
#include "machine_fixture.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "platform/apart.h"

void machine_begin(struct machine *machine)
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

void machine_end(struct machine *machine)
{
    scratch_end(&machine->scratch);
}

void mount_card(struct machine *machine, const char *number, const char *type, const char *source)
{
    char line[2048];
    snprintf(line, sizeof line,
             "1 0 254:99 / / rw - ext4 /dev/none rw\n40 1 %s / %s/card rw,relatime shared:7 - %s %s rw\n", number,
             machine->scratch.path, type, source);
    scratch_write_text(&machine->scratch, "proc/self/mountinfo", line);
}

void link_to(struct machine *machine, const char *target, const char *name)
{
    scratch_write_text(&machine->scratch, name, "");
    ck_assert_int_eq(unlink(scratch_path(&machine->scratch, name)), 0);
    ck_assert_int_eq(symlink(target, scratch_path(&machine->scratch, name)), 0);
}

void add_block(struct machine *machine, const char *path, const char *number)
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

void add_partition(struct machine *machine, const char *path, const char *number)
{
    char name[600];
    add_block(machine, path, number);
    snprintf(name, sizeof name, "sys/devices/%s/partition", path);
    scratch_write_text(&machine->scratch, name, "1\n");
}

void set_attribute(struct machine *machine, const char *path, const char *value)
{
    char name[600];
    snprintf(name, sizeof name, "sys/devices/%s", path);
    scratch_write_text(&machine->scratch, name, value);
}

struct hr_volume volume_of_card(struct machine *machine)
{
    struct hr_volume volume;
    struct hr_fault fault = {0};
    ck_assert_msg(hr__volume_of(&volume, scratch_path(&machine->scratch, "card"), &machine->roots, &fault) == HR_OK,
                  "%s", fault.text);
    return volume;
}

static void expect_text(const struct hr_volume *volume, const char *wanted)
{
    char *text = hr__disks_text(volume);
    ck_assert_str_eq(text, wanted);
    free(text);
}

void expect_disk(struct machine *machine, const char *name, const char *identity)
{
    struct hr_volume volume = volume_of_card(machine);
    ck_assert_uint_eq(volume.disk_count, 1);
    ck_assert_str_eq(volume.disks[0].name, name);
    ck_assert_str_eq(volume.disks[0].identity, identity);
    expect_text(&volume, identity);
    hr__volume_finish(&volume);
}

void expect_unknown_disks(struct machine *machine)
{
    struct hr_volume volume = volume_of_card(machine);
    expect_text(&volume, HR_DISKS_UNKNOWN);
    hr__volume_finish(&volume);
}
