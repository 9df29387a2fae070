/* SPDX-License-Identifier: ISC */
/* What an SD card promises of itself. */
#ifndef HR_PLATFORM_CARD_CLASS_H
#define HR_PLATFORM_CARD_CLASS_H

#include <stdbool.h>

struct hr_card_class {
    char name[8];       /* "V90", "U3", "C10" */
    double bytes_per_s; /* it writes at least */
};

/* The highest class in an SD status register, 128 hexadecimal digits as sysfs shows it (SD Physical Layer Simplified
 * Specification, 4.10.2): speed class, UHS speed grade, video speed class. False when it names none. */
bool hr__card_class_read(struct hr_card_class *out, const char *sd_status);

#endif
