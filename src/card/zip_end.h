/* SPDX-License-Identifier: ISC */
#ifndef HR_CARD_ZIP_END_H
#define HR_CARD_ZIP_END_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* libarchive looks no further from the end for it. */
enum { HR_ZIP_TAIL_BYTES = 1 << 14 };

/* How many entries the end record of a zip (APPNOTE 4.3.16) says there are, modulo 65536, for some writers let the
 * field run over. `tail` is the last `size` bytes of the file. False when it has none there, or leaves the number to
 * the zip64 record. */
bool hr__zip_end_count(uint16_t *out, const unsigned char *tail, size_t size);

#endif
