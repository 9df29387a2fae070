/* SPDX-License-Identifier: ISC */
#include "platform/usb_capability.h"

#include <math.h>
#include <stdint.h>

enum { HEAD_BYTES = 5, DEVICE_CAPABILITY = 0x10, SUPER_SPEED = 3, SUPER_SPEED_PLUS = 10 };

static double super_speed(const unsigned char *capability, size_t size)
{
    enum { SPEEDS_AT = 4, HAS_5_GBIT = 1 << 3 };
    return size > SPEEDS_AT && (capability[SPEEDS_AT] & HAS_5_GBIT) ? 5000 : 0;
}

/* Each sublink: a mantissa in the upper half, and in bits 4-5 the power of a thousand of its bits a second. */
static double super_speed_plus(const unsigned char *capability, size_t size)
{
    enum { SUBLINKS_AT = 12 };
    double best = 0;
    for (size_t at = SUBLINKS_AT; at + 4 <= size; at += 4) {
        double mantissa = capability[at + 2] | capability[at + 3] << 8;
        double mbit = mantissa * pow(1000, capability[at] >> 4 & 3) / 1e6;
        best = fmax(best, mbit);
    }
    return best;
}

double hr__usb_capability_mbit(const unsigned char *store, size_t size)
{
    double best = 0;
    for (size_t at = HEAD_BYTES; at + 3 <= size && store[at] >= 3 && store[at] <= size - at; at += store[at]) {
        if (store[at + 1] != DEVICE_CAPABILITY)
            continue;
        if (store[at + 2] == SUPER_SPEED)
            best = fmax(best, super_speed(store + at, store[at]));
        else if (store[at + 2] == SUPER_SPEED_PLUS)
            best = fmax(best, super_speed_plus(store + at, store[at]));
    }
    return best;
}
