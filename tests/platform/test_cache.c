/* SPDX-License-Identifier: ISC */
/* What the page cache holds, on whatever filesystem the test stands; memory alone gives other answers than a medium. */
#include <string.h>

#include "platform/machine.h"
#include "platform/volume.h"
#include "platform_fixture.h"
#include "suite.h"

enum { CONTENT = (4 << 20) + 100 };

static bool stands_in_memory(const struct scratch *scratch)
{
    struct hr_volume volume;
    ck_assert_int_eq(hr__volume_of(&volume, scratch->path, &hr__system_roots, NULL), HR_OK);
    bool in_memory = volume.is_in_memory;
    hr__volume_finish(&volume);
    return in_memory;
}

static struct hr_file make_file(struct scratch *scratch, const char *bytes)
{
    struct hr_file file;
    ck_assert_int_eq(hr__file_open(&file, &scratch->folder, "clip", HR_FILE_CREATE, false, "clip", NULL), HR_OK);
    ck_assert_int_eq(hr__file_write_at(&file, bytes, CONTENT, 0, NULL), HR_OK);
    return file;
}

static uint64_t resident(const struct hr_file *file, uint64_t size)
{
    uint64_t bytes = 12345;
    ck_assert_int_eq(hr__file_resident_bytes(&bytes, file, size, NULL), HR_OK);
    return bytes;
}

START_TEST(knows_what_stands_in_memory_before_and_after_it_is_dropped)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    char *bytes = hr__aligned_alloc(CONTENT);
    memset(bytes, 7, CONTENT);
    struct hr_file file = make_file(&scratch, bytes);
    ck_assert_uint_eq(resident(&file, CONTENT), CONTENT);
    ck_assert_uint_eq(resident(&file, 0), 0);
    ck_assert_int_eq(hr__file_sync(&file, NULL), HR_OK);
    hr__file_drop_cache(&file);
    ck_assert_uint_eq(resident(&file, CONTENT), stands_in_memory(&scratch) ? CONTENT : 0);
    hr__file_will_stream(&file);
    size_t got = 0;
    ck_assert_int_eq(hr__file_read_at(&got, &file, bytes, CONTENT, 0, NULL), HR_OK);
    ck_assert_uint_eq(resident(&file, CONTENT), CONTENT);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    hr__aligned_free(bytes);
    scratch_end(&scratch);
}
END_TEST

/* The kernel counts what was fetched for this thread: nothing from the cache, all of it from a block device. */
START_TEST(counts_what_came_from_the_device)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    char *bytes = hr__aligned_alloc(CONTENT);
    memset(bytes, 7, CONTENT);
    struct hr_file file = make_file(&scratch, bytes);
    uint64_t start = 0, cached = 0, fetched = 0;
    size_t got = 0;
    ck_assert_int_eq(hr__file_sync(&file, NULL), HR_OK);
    struct hr_fetch_count count;
    hr__fetch_count_open(&count);
    bool counts = hr__fetch_count_read(&start, &count);
    ck_assert_int_eq(hr__file_read_at(&got, &file, bytes, CONTENT, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__fetch_count_read(&cached, &count), counts);
    hr__file_drop_cache(&file);
    ck_assert_int_eq(hr__file_read_at(&got, &file, bytes, CONTENT, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__fetch_count_read(&fetched, &count), counts);
    hr__fetch_count_close(&count);
    ck_assert_uint_eq(cached, start);
    if (counts && !stands_in_memory(&scratch))
        ck_assert_uint_ge(fetched - cached, CONTENT);
    else
        ck_assert_uint_eq(fetched, cached);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    hr__aligned_free(bytes);
    scratch_end(&scratch);
}
END_TEST

HR_SUITE("platform/cache", knows_what_stands_in_memory_before_and_after_it_is_dropped, counts_what_came_from_the_device)
