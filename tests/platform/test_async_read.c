/* SPDX-License-Identifier: ISC */
#include "platform/async_read.h"

#include <errno.h>
#include <string.h>

#include "platform/machine.h"
#include "platform_fixture.h"
#include "refused_calls.h"
#include "suite.h"

enum { FILES = HR_ASYNC_READS_MAX, ROOM = 64 << 10 };

/* The n-th file has size_of(n) bytes 'a' + n. */
static size_t size_of(size_t n)
{
    return 3000 * n + 1;
}

struct yard {
    struct scratch scratch;
    struct hr_file files[FILES];
    char names[FILES][2];
    unsigned char *memory; /* ROOM for each */
};

static void yard_begin(struct yard *yard)
{
    scratch_begin(&yard->scratch);
    yard->memory = hr__aligned_alloc(FILES * ROOM);
    for (size_t i = 0; i < FILES; i++) {
        struct hr_file made;
        yard->names[i][0] = (char)('a' + i);
        yard->names[i][1] = '\0';
        memset(yard->memory, (int)('a' + i), size_of(i));
        const char *name = yard->names[i];
        ck_assert_int_eq(hr__file_open(&made, &yard->scratch.folder, name, HR_FILE_CREATE, false, name, NULL), HR_OK);
        ck_assert_int_eq(hr__file_write_at(&made, yard->memory, size_of(i), 0, NULL), HR_OK);
        ck_assert_int_eq(hr__file_sync(&made, NULL), HR_OK);
        ck_assert_int_eq(hr__file_close(&made, NULL), HR_OK);
        ck_assert_int_eq(hr__file_open(&yard->files[i], &yard->scratch.folder, name, HR_FILE_READ, true, name, NULL),
                         HR_OK);
    }
}

static void yard_end(struct yard *yard)
{
    for (size_t i = 0; i < FILES; i++)
        ck_assert_int_eq(hr__file_close(&yard->files[i], NULL), HR_OK);
    hr__aligned_free(yard->memory);
    scratch_end(&yard->scratch);
}

static void ask_for_all(struct hr_async_reads *reads, const struct yard *yard)
{
    memset(yard->memory, 0, FILES * ROOM);
    hr__async_reads_open(reads);
    for (size_t i = 0; i < FILES; i++)
        hr__async_read_ask(reads, i, &yard->files[i], yard->memory + i * ROOM, 0, ROOM);
    hr__async_reads_send(reads);
}

/* Waits for the last first. */
static void read_all(void *argument)
{
    struct yard *yard = argument;
    struct hr_async_reads reads;
    ask_for_all(&reads, yard);
    for (size_t i = FILES; i-- > 0;) {
        const unsigned char *bytes = yard->memory + i * ROOM;
        ck_assert_uint_eq(hr__async_read_wait(&reads, i), size_of(i));
        ck_assert_int_eq(bytes[0], (int)('a' + i));
        ck_assert_int_eq(bytes[size_of(i) - 1], (int)('a' + i));
    }
    hr__async_reads_close(&reads);
}

START_TEST(all_that_was_asked_for_comes_whatever_is_waited_for_first)
{
    struct yard yard;
    yard_begin(&yard);
    read_all(&yard);
    yard_end(&yard);
}
END_TEST

START_TEST(reads_one_by_one_where_the_system_does_no_more)
{
    struct yard yard;
    yard_begin(&yard);
    RUN_REFUSED(read_all, &yard, {.call = SYS_io_setup, .error = EAGAIN});
    RUN_REFUSED(read_all, &yard, {.call = SYS_io_submit, .error = EAGAIN});
    yard_end(&yard);
}
END_TEST

START_TEST(a_number_can_be_asked_for_again)
{
    struct yard yard;
    struct hr_async_reads reads;
    yard_begin(&yard);
    hr__async_reads_open(&reads);
    for (size_t i = 0; i < FILES; i++) {
        hr__async_read_ask(&reads, 0, &yard.files[i], yard.memory, 0, ROOM);
        hr__async_reads_send(&reads);
        ck_assert_uint_eq(hr__async_read_wait(&reads, 0), size_of(i));
        ck_assert_int_eq(yard.memory[0], (int)('a' + i));
    }
    hr__async_reads_close(&reads);
    yard_end(&yard);
}
END_TEST

/* The last file is asked for from behind its first 8 kB, and with what cannot be read before and after it. */
START_TEST(stretches_of_one_file_come_beside_what_fails)
{
    enum { LAST = FILES - 1, BEFORE = 8192 };
    struct yard yard;
    struct hr_async_reads reads;
    struct hr_file closed = {.descriptor = -1, .path = "closed"};
    yard_begin(&yard);
    hr__async_reads_open(&reads);
    hr__async_read_ask(&reads, 0, &yard.files[LAST], yard.memory, 0, BEFORE);
    hr__async_read_ask(&reads, 1, &closed, yard.memory + ROOM, 0, ROOM);
    hr__async_read_ask(&reads, 2, &yard.files[LAST], yard.memory + 2 * ROOM, BEFORE, ROOM);
    hr__async_reads_send(&reads);
    ck_assert_uint_eq(hr__async_read_wait(&reads, 2), size_of(LAST) - BEFORE);
    ck_assert_uint_eq(hr__async_read_wait(&reads, 1), 0);
    ck_assert_uint_eq(hr__async_read_wait(&reads, 0), BEFORE);
    hr__async_reads_close(&reads);
    yard_end(&yard);
}
END_TEST

START_TEST(the_system_is_asked_for_nothing_before_there_is_something_to_read)
{
    struct hr_async_reads reads;
    hr__async_reads_open(&reads);
    ck_assert_uint_eq(reads.context, 0);
    hr__async_reads_close(&reads);
}
END_TEST

static void wait_in_vain(void *argument)
{
    struct yard *yard = argument;
    struct hr_async_reads reads;
    ask_for_all(&reads, yard);
    bool are_under_way = reads.context;
    for (size_t i = 0; i < FILES; i++)
        ck_assert_uint_eq(hr__async_read_wait(&reads, i), are_under_way ? 0 : size_of(i));
    hr__async_read_ask(&reads, 0, &yard->files[1], yard->memory, 0, ROOM); /* from here on one by one */
    hr__async_reads_send(&reads);
    ck_assert_uint_eq(hr__async_read_wait(&reads, 0), size_of(1));
    hr__async_reads_close(&reads);
}

START_TEST(what_cannot_be_waited_for_has_failed)
{
    struct yard yard;
    yard_begin(&yard);
    RUN_REFUSED(wait_in_vain, &yard, {.call = SYS_io_getevents, .error = ENOSYS});
    yard_end(&yard);
}
END_TEST

START_TEST(a_file_that_cannot_be_read_gives_nothing)
{
    struct yard yard;
    struct hr_async_reads reads;
    struct hr_file closed = {.descriptor = -1, .path = "closed"};
    yard_begin(&yard);
    hr__async_reads_open(&reads);
    hr__async_read_ask(&reads, 5, &closed, yard.memory, 0, ROOM);
    hr__async_reads_send(&reads);
    ck_assert_uint_eq(hr__async_read_wait(&reads, 5), 0);
    hr__async_reads_close(&reads);
    yard_end(&yard);
}
END_TEST

HR_SUITE("platform/async_read", all_that_was_asked_for_comes_whatever_is_waited_for_first,
         reads_one_by_one_where_the_system_does_no_more, a_number_can_be_asked_for_again,
         stretches_of_one_file_come_beside_what_fails,
         the_system_is_asked_for_nothing_before_there_is_something_to_read, what_cannot_be_waited_for_has_failed,
         a_file_that_cannot_be_read_gives_nothing)
