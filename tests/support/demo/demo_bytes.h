/* SPDX-License-Identifier: ISC */
/* A file in the making: bytes appended in either byte order. Zeroed is empty; demo_bytes_finish gives back the memory.
 */
#ifndef DEMO_BYTES_H
#define DEMO_BYTES_H

#include <stddef.h>
#include <stdint.h>

struct demo_bytes {
    unsigned char *data;
    size_t size, capacity;
};

void demo_bytes_finish(struct demo_bytes *bytes);
/* Room for `size` more bytes at the end, which count as written; the caller fills them before the next append. */
unsigned char *demo_bytes_grow(struct demo_bytes *bytes, size_t size);
void demo_bytes_add(struct demo_bytes *bytes, const void *data, size_t size);
void demo_bytes_add_text(struct demo_bytes *bytes, const char *text);
void demo_bytes_add_little(struct demo_bytes *bytes, uint64_t value, unsigned width_bytes);
void demo_bytes_add_big(struct demo_bytes *bytes, uint64_t value, unsigned width_bytes);
void demo_bytes_set_little(struct demo_bytes *bytes, size_t at, uint64_t value, unsigned width_bytes);
void demo_bytes_set_big(struct demo_bytes *bytes, size_t at, uint64_t value, unsigned width_bytes);

#endif
