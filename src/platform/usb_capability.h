/* SPDX-License-Identifier: ISC */
/* What a USB device could negotiate, by its own word. */
#ifndef HR_PLATFORM_USB_CAPABILITY_H
#define HR_PLATFORM_USB_CAPABILITY_H

#include <stddef.h>

/* Mb/s of one lane at most, by a binary device object store (USB 3.2, 9.6.2): its SuperSpeed (type 3) and
 * SuperSpeedPlus (type 10) capabilities. 0 when it holds neither. Torn ones are read as far as they go. */
double hr__usb_capability_mbit(const unsigned char *store, size_t size);

#endif
