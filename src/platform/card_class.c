/* SPDX-License-Identifier: ISC */
#include "platform/card_class.h"

#include <stdio.h>
#include <string.h>

enum { SPEED_CLASS_AT = 8, UHS_GRADE_AT = 14, VIDEO_CLASS_AT = 15, STATUS_DIGITS = 128 };

static unsigned digit(char c)
{
    static const char digits[] = "0123456789abcdef";
    const char *found = c ? strchr(digits, c) : NULL;
    return found ? (unsigned)(found - digits) : 0;
}

static unsigned byte_at(const char *sd_status, size_t at)
{
    return digit(sd_status[2 * at]) << 4 | digit(sd_status[2 * at + 1]);
}

static void take(struct hr_card_class *best, char letter, unsigned number, unsigned mb_per_s)
{
    if (mb_per_s * 1e6 <= best->bytes_per_s)
        return;
    snprintf(best->name, sizeof best->name, "%c%u", letter, number);
    best->bytes_per_s = mb_per_s * 1e6;
}

bool hr__card_class_read(struct hr_card_class *out, const char *sd_status)
{
    static const unsigned speeds[] = {0, 2, 4, 6, 10};
    struct hr_card_class best = {.bytes_per_s = 0};
    if (strlen(sd_status) != STATUS_DIGITS)
        return false;
    unsigned video = byte_at(sd_status, VIDEO_CLASS_AT), grade = byte_at(sd_status, UHS_GRADE_AT) >> 4;
    unsigned speed = byte_at(sd_status, SPEED_CLASS_AT);
    if (video <= 90)
        take(&best, 'V', video, video);
    if (grade == 1 || grade == 3)
        take(&best, 'U', grade, 10 * grade);
    if (speed < sizeof speeds / sizeof *speeds)
        take(&best, 'C', speeds[speed], speeds[speed]);
    if (best.bytes_per_s > 0)
        *out = best;
    return best.bytes_per_s > 0;
}
