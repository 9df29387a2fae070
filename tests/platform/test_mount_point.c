/* SPDX-License-Identifier: ISC */
/* The highest folder on a device; /proc and its root are the witnesses that any Linux has. */
#include "platform/mount.h"

#include <stdlib.h>
#include <sys/stat.h>

#include "suite.h"

static void expect_point(const char *path, const char *point)
{
    struct stat facts;
    ck_assert_int_eq(stat(path, &facts), 0);
    char *found = hr__mount_point_above(path, (uint64_t)facts.st_dev);
    ck_assert_str_eq(found, point);
    free(found);
}

START_TEST(climbs_to_where_the_device_changes)
{
    expect_point("/", "/");
    expect_point("/proc", "/proc");
    expect_point("/proc/self/fd", "/proc");
    expect_point("/etc", "/");
}
END_TEST

START_TEST(stays_where_it_is_when_nothing_above_is_on_the_device)
{
    char *found = hr__mount_point_above("/proc/self/fd", 0);
    ck_assert_str_eq(found, "/proc/self/fd");
    free(found);
}
END_TEST

HR_SUITE("platform/mount_point", climbs_to_where_the_device_changes,
         stays_where_it_is_when_nothing_above_is_on_the_device)
