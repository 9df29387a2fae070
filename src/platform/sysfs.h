/* SPDX-License-Identifier: ISC */
/* The small files of sysfs and udev's database. Links are followed: these trees are the system's own. Linux alone. */
#ifndef HR_PLATFORM_SYSFS_H
#define HR_PLATFORM_SYSFS_H

#include <stdbool.h>
#include <stddef.h>

/* Up to `size` bytes of the beginning of `folder`/`name`; says how many, 0 when it cannot be read. */
size_t hr__sysfs_head(void *bytes, size_t size, const char *folder, const char *name);
/* One line, blanks at its ends left out. False when it is not there or empty. */
bool hr__sysfs_line(char *out, size_t out_size, const char *folder, const char *name);
/* The number a line begins with, up to its first blank: "8.0 GT/s PCIe", " 3.20". 0 when there is none. */
double hr__sysfs_number(const char *folder, const char *name);

#endif
