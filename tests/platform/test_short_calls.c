/* SPDX-License-Identifier: ISC */
/* Reads and writes that are interrupted, or do less than they were asked: POSIX.1-2017, read() and write(). The three
 * calls below stand before libc's in this program; its checked forms of them, which are inline, would be in the way. */
#undef _FORTIFY_SOURCE
#include <errno.h>
#include <string.h>
#include <sys/syscall.h>
#include <unistd.h>

#include "platform/file.h"
#include "platform/machine.h"
#include "platform_fixture.h"
#include "suite.h"

/* What the calls do. */
static struct {
    unsigned interrupts; /* so many of them are interrupted first, again after each that goes through */
    unsigned left;       /* of these */
    size_t at_most;      /* bytes a call; SIZE_MAX: as asked */
    int calls;
} harm = {.at_most = SIZE_MAX};

static void do_harm(unsigned interrupts, size_t at_most)
{
    harm.interrupts = harm.left = interrupts;
    harm.at_most = at_most;
    harm.calls = 0;
}

static bool is_interrupted(size_t *size)
{
    harm.calls++;
    if (harm.left > 0) {
        harm.left--;
        errno = EINTR;
        return true;
    }
    harm.left = harm.interrupts;
    *size = *size < harm.at_most ? *size : harm.at_most;
    return false;
}

ssize_t pread(int descriptor, void *into, size_t size, off_t offset)
{
    return is_interrupted(&size) ? -1 : syscall(SYS_pread64, descriptor, into, size, offset);
}

ssize_t pwrite(int descriptor, const void *bytes, size_t size, off_t offset)
{
    return is_interrupted(&size) ? -1 : syscall(SYS_pwrite64, descriptor, bytes, size, offset);
}

ssize_t write(int descriptor, const void *bytes, size_t size)
{
    return is_interrupted(&size) ? -1 : syscall(SYS_write, descriptor, bytes, size);
}

enum { SIZE = 10000 };

static void fill(char *bytes)
{
    for (size_t i = 0; i < SIZE; i++)
        bytes[i] = (char)(i * 7 + i / 256);
}

static void expect_content(const struct scratch *scratch, const char *name, const char *wanted)
{
    char *bytes = NULL;
    size_t size = 0;
    do_harm(0, SIZE_MAX);
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch->folder, name, SIZE, name, NULL), HR_OK);
    ck_assert_uint_eq(size, SIZE);
    ck_assert_mem_eq(bytes, wanted, SIZE);
    free(bytes);
}

START_TEST(writes_all_of_it_however_often_it_is_stopped)
{
    struct scratch scratch;
    struct hr_file file;
    char bytes[SIZE];
    fill(bytes);
    scratch_begin(&scratch);
    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, "a", HR_FILE_CREATE, false, "a", NULL), HR_OK);
    do_harm(2, 333);
    ck_assert_int_eq(hr__file_write_at(&file, bytes, SIZE, 0, NULL), HR_OK);
    ck_assert_int_eq(harm.calls, 3 * 31); /* ceil(10000 / 333) times: two interrupted, one through */
    expect_content(&scratch, "a", bytes);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);

    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, "b", HR_FILE_APPEND, false, "b", NULL), HR_OK);
    do_harm(2, 333);
    ck_assert_int_eq(hr__file_append(&file, bytes, SIZE, NULL), HR_OK);
    ck_assert_int_eq(harm.calls, 3 * 31);
    expect_content(&scratch, "b", bytes);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

START_TEST(reads_to_the_end_however_often_it_is_stopped)
{
    struct scratch scratch;
    struct hr_file file;
    char written[SIZE], read[SIZE + 10];
    size_t got = 0;
    fill(written);
    scratch_begin(&scratch);
    scratch_write(&scratch, "a", written, SIZE);
    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, "a", HR_FILE_READ, false, "a", NULL), HR_OK);
    do_harm(1, 1024);
    ck_assert_int_eq(hr__file_read_at(&got, &file, read, sizeof read, 0, NULL), HR_OK);
    ck_assert_uint_eq(got, SIZE);
    ck_assert_mem_eq(read, written, SIZE);
    ck_assert_int_eq(harm.calls, 2 * 11); /* ten reads, and the one that finds the end */
    do_harm(1, 1024);
    ck_assert_int_eq(hr__file_read_at(&got, &file, read, 100, SIZE - 50, NULL), HR_OK);
    ck_assert_uint_eq(got, 50);
    ck_assert_mem_eq(read, written + SIZE - 50, 50);
    do_harm(1, 100);
    char *bytes = NULL;
    size_t size = 0;
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch.folder, "a", SIZE, "a", NULL), HR_OK);
    ck_assert_uint_eq(size, SIZE);
    free(bytes);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

/* Past the page cache the next offset must be a whole block: a count that is none can only be the end. */
START_TEST(takes_an_odd_count_past_the_cache_for_the_end)
{
    struct scratch scratch;
    struct hr_file file;
    char written[SIZE], *read = hr__aligned_alloc(3 * HR_DIRECT_ALIGNMENT);
    size_t got = 0;
    fill(written);
    scratch_begin(&scratch);
    scratch_write(&scratch, "a", written, SIZE);
    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, "a", HR_FILE_READ, true, "a", NULL), HR_OK);
    file.direct = true;
    do_harm(1, HR_DIRECT_ALIGNMENT);
    ck_assert_int_eq(hr__file_read_at(&got, &file, read, 3 * HR_DIRECT_ALIGNMENT, 0, NULL), HR_OK);
    ck_assert_uint_eq(got, SIZE);
    ck_assert_mem_eq(read, written, SIZE);
    ck_assert_int_eq(harm.calls, 2 * 3);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    hr__aligned_free(read);
    scratch_end(&scratch);
}
END_TEST

/* Else it would try for ever. */
START_TEST(fails_when_nothing_more_is_taken)
{
    struct scratch scratch;
    struct hr_file file;
    struct hr_fault fault = {0};
    scratch_begin(&scratch);
    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, "a", HR_FILE_APPEND, false, "a", NULL), HR_OK);
    do_harm(0, 0);
    ck_assert_int_eq(hr__file_append(&file, "x", 1, &fault), HR_IO);
    ck_assert_str_eq(fault.text, "cannot write a: Input/output error");
    ck_assert_int_eq(hr__file_write_at(&file, "x", 1, 0, NULL), HR_IO);
    ck_assert_int_eq(hr__file_append(&file, "", 0, NULL), HR_OK);
    do_harm(0, SIZE_MAX);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

HR_SUITE("platform/short_calls", writes_all_of_it_however_often_it_is_stopped,
         reads_to_the_end_however_often_it_is_stopped, takes_an_odd_count_past_the_cache_for_the_end,
         fails_when_nothing_more_is_taken)
