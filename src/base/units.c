/* SPDX-License-Identifier: ISC */
#include "base/units.h"

#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/* Numbers below `below` quanta are shown in this unit, so that a rounded 999.95 MB becomes 1.00 GB. */
static const struct step {
    uint64_t quantum, below;
    unsigned decimals;
    const char *unit;
} steps[] = {
    {1, 1000, 0, "B"},
    {1000, 1000, 0, "kB"},
    {100000, 100, 1, "MB"},
    {1000000, 1000, 0, "MB"},
    {10000000, 10000, 2, "GB"},
    {100000000, 10000, 1, "GB"},
    {10000000000, UINT64_MAX, 2, "TB"},
};

static uint64_t divide_rounded(uint64_t a, uint64_t b)
{
    return a / b + (a % b >= b - a % b);
}

char *hr__format_bytes(char out[HR_UNIT_TEXT_SIZE], uint64_t bytes)
{
    const struct step *step = steps;
    while (divide_rounded(bytes, step->quantum) >= step->below)
        step++;
    uint64_t quanta = divide_rounded(bytes, step->quantum);
    if (step->decimals == 0)
        snprintf(out, HR_UNIT_TEXT_SIZE, "%" PRIu64 " %s", quanta, step->unit);
    else if (step->decimals == 1)
        snprintf(out, HR_UNIT_TEXT_SIZE, "%" PRIu64 ".%" PRIu64 " %s", quanta / 10, quanta % 10, step->unit);
    else
        snprintf(out, HR_UNIT_TEXT_SIZE, "%" PRIu64 ".%02" PRIu64 " %s", quanta / 100, quanta % 100, step->unit);
    return out;
}

char *hr__format_rate(char out[HR_UNIT_TEXT_SIZE], double bytes_per_s)
{
    const double most = 1e15;
    double rate = bytes_per_s > 0 ? bytes_per_s : 0; /* also for not-a-number */
    double mb_per_s = (rate < most ? rate : most) / 1e6;
    uint64_t tenths = (uint64_t)(10 * mb_per_s + 0.5);
    if (tenths > 0 && tenths < 100)
        snprintf(out, HR_UNIT_TEXT_SIZE, "%" PRIu64 ".%" PRIu64 " MB/s", tenths / 10, tenths % 10);
    else
        snprintf(out, HR_UNIT_TEXT_SIZE, "%" PRIu64 " MB/s", (uint64_t)(mb_per_s + 0.5));
    return out;
}

char *hr__format_duration(char out[HR_UNIT_TEXT_SIZE], int64_t ns)
{
    uint64_t s = divide_rounded(ns > 0 ? (uint64_t)ns : 0, HR_NS_PER_S);
    uint64_t minutes = divide_rounded(s, 60);
    if (s < 60)
        snprintf(out, HR_UNIT_TEXT_SIZE, "%" PRIu64 " s", s);
    else if (s < 3600)
        snprintf(out, HR_UNIT_TEXT_SIZE, "%" PRIu64 " min %02" PRIu64 " s", s / 60, s % 60);
    else
        snprintf(out, HR_UNIT_TEXT_SIZE, "%" PRIu64 " h %02" PRIu64 " min", minutes / 60, minutes % 60);
    return out;
}

char *hr__format_count(char out[HR_UNIT_TEXT_SIZE], uint64_t count)
{
    char digits[HR_UNIT_TEXT_SIZE];
    int length = snprintf(digits, sizeof digits, "%" PRIu64, count);
    char *to = out;
    for (int i = 0; i < length; i++) {
        if (i > 0 && (length - i) % 3 == 0)
            *to++ = ',';
        *to++ = digits[i];
    }
    *to = '\0';
    return out;
}

char *hr__format_counted(char out[HR_UNIT_TEXT_SIZE], uint64_t count, const char *noun)
{
    char number[HR_UNIT_TEXT_SIZE];
    size_t length = strlen(noun);
    bool ends_in_y = count != 1 && noun[length - 1] == 'y';
    const char *ending = count == 1 ? "" : ends_in_y ? "ies" : "s";
    hr__format_count(number, count);
    snprintf(out, HR_UNIT_TEXT_SIZE, "%.27s %.*s%s", number, (int)(length - ends_in_y), noun, ending);
    return out;
}
