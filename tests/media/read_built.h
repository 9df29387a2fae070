/* SPDX-License-Identifier: ISC */
/* Reads a built file by what the reader wants, and checks that it wants no more than it may. */
#ifndef HR_TESTS_READ_BUILT_H
#define HR_TESTS_READ_BUILT_H

#include <headrace/media.h>

#include "built_file.h"
#include "suite.h"

static inline struct hr_media_reader *new_reader(uint64_t size)
{
    struct hr_media_reader *reader = NULL;
    ck_assert_int_eq(hr_media_reader_create(&reader, size, NULL), HR_OK);
    return reader;
}

static inline struct hr_media_facts finish(struct hr_media_reader *reader)
{
    struct hr_media_facts facts;
    hr_media_reader_facts(reader, &facts);
    hr_media_reader_destroy(reader);
    return facts;
}

/* Answers each want with at most `piece` bytes of what is there; the file was said to be `claimed` long. */
static inline struct hr_media_facts read_built(const struct built_file *file, uint64_t claimed, size_t piece)
{
    struct hr_media_reader *reader = new_reader(claimed);
    uint64_t offset;
    size_t size;
    int steps = 0;
    while (hr_media_reader_wants(reader, &offset, &size)) {
        ck_assert_int_lt(steps++, 100000);
        ck_assert_uint_le(size, 256u << 10);
        ck_assert_uint_gt(size, 0);
        ck_assert_uint_le(offset + size, claimed);
        size_t there = offset < file->size ? file->size - (size_t)offset : 0;
        size = size < there ? size : there;
        hr_media_reader_feed(reader, offset, file->bytes + offset, size < piece ? size : piece);
    }
    return finish(reader);
}

/* The whole file, as it is. */
static inline struct hr_media_facts read_whole(const struct built_file *file)
{
    return read_built(file, file->size, SIZE_MAX);
}

#endif
