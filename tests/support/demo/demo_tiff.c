/* SPDX-License-Identifier: ISC */
#include "demo_tiff.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

enum { HEADER_SIZE = 8, ENTRY_SIZE = 12 };

void demo_tiff_begin(struct demo_bytes *bytes)
{
    demo_bytes_add(bytes, "II*\0", 4);
    demo_bytes_add_little(bytes, HEADER_SIZE, 4);
}

static void start_entry(struct demo_ifd *ifd, unsigned tag, enum demo_tiff_type type, unsigned count)
{
    assert(ifd->count < DEMO_MOST_ENTRIES);
    ifd->entries[ifd->count++] = (struct demo_entry){tag, type, count, ifd->values.size, 0};
}

static void end_entry(struct demo_ifd *ifd)
{
    struct demo_entry *entry = &ifd->entries[ifd->count - 1];
    entry->size = ifd->values.size - entry->from;
}

void demo_ifd_add_text(struct demo_ifd *ifd, unsigned tag, const char *text)
{
    demo_ifd_add_bytes(ifd, tag, DEMO_ASCII, text, strlen(text) + 1);
}

void demo_ifd_add_bytes(struct demo_ifd *ifd, unsigned tag, enum demo_tiff_type type, const void *data, size_t size)
{
    start_entry(ifd, tag, type, (unsigned)size);
    demo_bytes_add(&ifd->values, data, size);
    end_entry(ifd);
}

void demo_ifd_add_number(struct demo_ifd *ifd, unsigned tag, enum demo_tiff_type type, uint32_t value)
{
    start_entry(ifd, tag, type, 1);
    demo_bytes_add_little(&ifd->values, value, type == DEMO_LONG ? 4 : type == DEMO_SHORT ? 2 : 1);
    end_entry(ifd);
}

void demo_ifd_add_shorts(struct demo_ifd *ifd, unsigned tag, const unsigned *values, unsigned count)
{
    start_entry(ifd, tag, DEMO_SHORT, count);
    for (unsigned i = 0; i < count; i++)
        demo_bytes_add_little(&ifd->values, values[i], 2);
    end_entry(ifd);
}

void demo_ifd_add_rationals(struct demo_ifd *ifd, unsigned tag, enum demo_tiff_type type, const int *values,
                            unsigned count)
{
    start_entry(ifd, tag, type, count);
    for (unsigned i = 0; i < 2 * count; i++)
        demo_bytes_add_little(&ifd->values, (uint32_t)values[i], 4);
    end_entry(ifd);
}

static int compare_tag(const void *a, const void *b)
{
    const struct demo_entry *x = a, *y = b;
    return (x->tag > y->tag) - (x->tag < y->tag);
}

static void add_value(struct demo_bytes *bytes, const struct demo_ifd *ifd, const struct demo_entry *entry)
{
    demo_bytes_add(bytes, ifd->values.data + entry->from, entry->size);
    if (entry->size % 2)
        demo_bytes_add_little(bytes, 0, 1);
}

static void add_entry(struct demo_bytes *bytes, const struct demo_ifd *ifd, const struct demo_entry *entry,
                      size_t *overflow_at)
{
    demo_bytes_add_little(bytes, entry->tag, 2);
    demo_bytes_add_little(bytes, entry->type, 2);
    demo_bytes_add_little(bytes, entry->count, 4);
    if (entry->size > 4) {
        demo_bytes_add_little(bytes, *overflow_at, 4);
        *overflow_at += entry->size + entry->size % 2;
    } else {
        unsigned char here[4] = {0};
        memcpy(here, ifd->values.data + entry->from, entry->size);
        demo_bytes_add(bytes, here, 4);
    }
}

size_t demo_ifd_write(struct demo_bytes *bytes, struct demo_ifd *ifd)
{
    if (bytes->size % 2)
        demo_bytes_add_little(bytes, 0, 1);
    size_t at = bytes->size, overflow_at = at + 2 + ENTRY_SIZE * ifd->count + 4;
    qsort(ifd->entries, ifd->count, sizeof *ifd->entries, compare_tag);
    demo_bytes_add_little(bytes, ifd->count, 2);
    for (unsigned i = 0; i < ifd->count; i++)
        add_entry(bytes, ifd, &ifd->entries[i], &overflow_at);
    demo_bytes_add_little(bytes, 0, 4);
    for (unsigned i = 0; i < ifd->count; i++)
        if (ifd->entries[i].size > 4)
            add_value(bytes, ifd, &ifd->entries[i]);
    demo_bytes_finish(&ifd->values);
    return at;
}

void demo_ifd_set(struct demo_bytes *bytes, size_t ifd_at, unsigned tag, size_t value)
{
    size_t at = ifd_at + 2;
    while (bytes->data[at] != (tag & 0xFF) || bytes->data[at + 1] != tag >> 8)
        at += ENTRY_SIZE;
    demo_bytes_set_little(bytes, at + 8, value, 4);
}

void demo_ifd_set_next(struct demo_bytes *bytes, size_t ifd_at, size_t next_at)
{
    size_t count = bytes->data[ifd_at] | (size_t)bytes->data[ifd_at + 1] << 8;
    demo_bytes_set_little(bytes, ifd_at + 2 + ENTRY_SIZE * count, next_at, 4);
}
