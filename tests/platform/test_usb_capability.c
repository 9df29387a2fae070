/* SPDX-License-Identifier: ISC */
/* Stores of capabilities laid out by hand after USB 3.2, tables 9-11 to 9-19 (from memory). */
#include "platform/usb_capability.h"

#include <string.h>

#include "suite.h"

enum { STORE_BYTES = 42 };
static const unsigned char store[STORE_BYTES] = {
    5,    0x0F, STORE_BYTES, 0, 3,                                    /* head: three capabilities */
    7,    0x10, 2,           2, 0,    0,    0,                        /* USB 2.0 extension */
    10,   0x10, 3,           0, 0x0E, 0,    3,  10, 0xFF, 7,          /* SuperSpeed: 12, 480 and 5000 Mb/s */
    20,   0x10, 10,          0, 1,    0,    0,  0,  0,    0x11, 0, 0, /* SuperSpeedPlus: two sublinks, */
    0x30, 0x40, 10,          0, 0xB0, 0x40, 10, 0,                    /* in and out, of 10 Gb/s */
};

START_TEST(reads_the_fastest_lane_a_device_can)
{
    ck_assert_double_eq(hr__usb_capability_mbit(store, STORE_BYTES), 10000);
    ck_assert_double_eq(hr__usb_capability_mbit(store, 22), 5000);
    ck_assert_double_eq(hr__usb_capability_mbit(store, 12), 0);
}
END_TEST

START_TEST(stops_where_a_store_is_torn_or_lies)
{
    unsigned char bytes[STORE_BYTES];
    for (size_t size = 0; size <= STORE_BYTES; size++) {
        unsigned char *exact = malloc(size + !size); /* a reader past the end is caught by the sanitizer */
        memcpy(exact, store, size);
        double mbit = hr__usb_capability_mbit(exact, size);
        ck_assert(mbit == 0 || mbit == 5000 || mbit == 10000);
        free(exact);
    }
    static const unsigned char lengths[] = {0, 1, 2, 255};
    for (size_t i = 0; i < sizeof lengths; i++) {
        memcpy(bytes, store, sizeof bytes);
        bytes[5] = lengths[i];
        ck_assert_double_eq(hr__usb_capability_mbit(bytes, sizeof bytes), 0);
    }
}
END_TEST

HR_SUITE("platform/usb_capability", reads_the_fastest_lane_a_device_can, stops_where_a_store_is_torn_or_lies)
