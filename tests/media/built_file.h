/* SPDX-License-Identifier: ISC */
/* Picture files built byte by byte, by the standards and not by the code under test. */
#ifndef HR_TESTS_BUILT_FILE_H
#define HR_TESTS_BUILT_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

enum { BUILT_BYTES = 200000 };

struct built_file {
    unsigned char bytes[BUILT_BYTES];
    size_t size;
    bool big_endian;
    size_t base;      /* of the TIFF block */
    size_t directory; /* where the next entry goes */
    size_t pool;      /* where the next value that does not fit an entry goes */
};

static inline void put_at(struct built_file *file, size_t at, uint64_t number, size_t width)
{
    for (size_t i = 0; i < width; i++)
        file->bytes[at + i] = (unsigned char)(number >> 8 * (file->big_endian ? width - 1 - i : i));
    if (at + width > file->size)
        file->size = at + width;
}

static inline void put(struct built_file *file, uint64_t number, size_t width)
{
    put_at(file, file->size, number, width);
}

static inline void put_bytes(struct built_file *file, const void *bytes, size_t size)
{
    memcpy(file->bytes + file->size, bytes, size);
    file->size += size;
}

/* A TIFF block with room for its directories in the first 1,000 bytes. */
static inline void tiff_begin(struct built_file *file, bool big_endian)
{
    file->big_endian = big_endian;
    file->base = file->size;
    put_bytes(file, big_endian ? "MM" : "II", 2);
    put(file, 42, 2);
    put(file, 8, 4);
    file->pool = file->base + 1000;
}

static inline void directory_begin(struct built_file *file, size_t offset, unsigned entries)
{
    put_at(file, file->base + offset, entries, 2);
    file->directory = file->base + offset + 2;
    put_at(file, file->directory + (size_t)entries * 12, 0, 4);
}

static inline void entry(struct built_file *file, unsigned tag, unsigned type, uint32_t count, uint32_t value)
{
    put_at(file, file->directory, tag, 2);
    put_at(file, file->directory + 2, type, 2);
    put_at(file, file->directory + 4, count, 4);
    put_at(file, file->directory + 8, value, type == 3 && count == 1 ? 2 : 4);
    file->directory += 12;
}

static inline void text_entry(struct built_file *file, unsigned tag, const char *text)
{
    size_t size = strlen(text) + 1;
    size_t at = size <= 4 ? file->directory + 8 : file->pool;
    entry(file, tag, 2, (uint32_t)size, size <= 4 ? 0 : (uint32_t)(at - file->base));
    memcpy(file->bytes + at, text, size);
    if (size > 4)
        file->pool += size;
    if (at + size > file->size)
        file->size = at + size;
}

/* Box of ISO/IEC 14496-12: begin gives the place that end fills with the size. */
static inline size_t box_begin(struct built_file *file, const char *type)
{
    file->big_endian = true;
    put(file, 0, 4);
    put_bytes(file, type, 4);
    return file->size - 8;
}

static inline void box_end(struct built_file *file, size_t box)
{
    file->big_endian = true;
    put_at(file, box, file->size - box, 4);
}

#endif
