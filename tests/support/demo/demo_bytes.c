/* SPDX-License-Identifier: ISC */
#include "demo_bytes.h"

#include <stdlib.h>
#include <string.h>

#include "demo_fail.h"

void demo_bytes_finish(struct demo_bytes *bytes)
{
    free(bytes->data);
    *bytes = (struct demo_bytes){0};
}

unsigned char *demo_bytes_grow(struct demo_bytes *bytes, size_t size)
{
    if (size > bytes->capacity - bytes->size) {
        size_t capacity = (bytes->size + size) + (bytes->size + size) / 2 + 4096;
        unsigned char *data = realloc(bytes->data, capacity);
        if (!data)
            demo_fail("out of memory");
        bytes->data = data;
        bytes->capacity = capacity;
    }
    bytes->size += size;
    return bytes->data + bytes->size - size;
}

void demo_bytes_add(struct demo_bytes *bytes, const void *data, size_t size)
{
    if (size)
        memcpy(demo_bytes_grow(bytes, size), data, size);
}

void demo_bytes_add_text(struct demo_bytes *bytes, const char *text)
{
    demo_bytes_add(bytes, text, strlen(text));
}

void demo_bytes_set_little(struct demo_bytes *bytes, size_t at, uint64_t value, unsigned width_bytes)
{
    for (unsigned i = 0; i < width_bytes; i++)
        bytes->data[at + i] = (unsigned char)(value >> (8 * i));
}

void demo_bytes_set_big(struct demo_bytes *bytes, size_t at, uint64_t value, unsigned width_bytes)
{
    for (unsigned i = 0; i < width_bytes; i++)
        bytes->data[at + i] = (unsigned char)(value >> (8 * (width_bytes - 1 - i)));
}

void demo_bytes_add_little(struct demo_bytes *bytes, uint64_t value, unsigned width_bytes)
{
    demo_bytes_grow(bytes, width_bytes);
    demo_bytes_set_little(bytes, bytes->size - width_bytes, value, width_bytes);
}

void demo_bytes_add_big(struct demo_bytes *bytes, uint64_t value, unsigned width_bytes)
{
    demo_bytes_grow(bytes, width_bytes);
    demo_bytes_set_big(bytes, bytes->size - width_bytes, value, width_bytes);
}
