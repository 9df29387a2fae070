/* SPDX-License-Identifier: ISC */
/* Image file directories, little-endian (TIFF 6.0), built in a byte buffer whose offset 0 is the start of the TIFF
 * block.
 *
 *     demo_tiff_begin(&bytes);
 *     demo_ifd_add_...(&ifd, tag, ...);  in any order
 *     at = demo_ifd_write(&bytes, &ifd); then set what was not known: demo_ifd_set(&bytes, at, tag, offset),
 * demo_ifd_set_next
 */
#ifndef DEMO_TIFF_H
#define DEMO_TIFF_H

#include "demo_bytes.h"

enum demo_tiff_type {
    DEMO_BYTE = 1,
    DEMO_ASCII = 2,
    DEMO_SHORT = 3,
    DEMO_LONG = 4,
    DEMO_RATIONAL = 5,
    DEMO_UNDEFINED = 7,
    DEMO_SRATIONAL = 10
};
enum { DEMO_MOST_ENTRIES = 40 };

struct demo_entry {
    unsigned tag;
    enum demo_tiff_type type;
    unsigned count;
    size_t from, size; /* in the directory's values */
};

/* Zeroed is empty; demo_ifd_write also gives back its memory. */
struct demo_ifd {
    struct demo_entry entries[DEMO_MOST_ENTRIES];
    unsigned count;
    struct demo_bytes values;
};

/* Header; the first directory follows at once. */
void demo_tiff_begin(struct demo_bytes *bytes);
void demo_ifd_add_text(struct demo_ifd *ifd, unsigned tag, const char *text);
void demo_ifd_add_bytes(struct demo_ifd *ifd, unsigned tag, enum demo_tiff_type type, const void *data, size_t size);
void demo_ifd_add_number(struct demo_ifd *ifd, unsigned tag, enum demo_tiff_type type, uint32_t value);
void demo_ifd_add_shorts(struct demo_ifd *ifd, unsigned tag, const unsigned *values, unsigned count);
/* `values`: numerator, denominator, numerator... */
void demo_ifd_add_rationals(struct demo_ifd *ifd, unsigned tag, enum demo_tiff_type type, const int *values,
                            unsigned count);
size_t demo_ifd_write(struct demo_bytes *bytes, struct demo_ifd *ifd);
void demo_ifd_set(struct demo_bytes *bytes, size_t ifd_at, unsigned tag, size_t value);
void demo_ifd_set_next(struct demo_bytes *bytes, size_t ifd_at, size_t next_at);

#endif
