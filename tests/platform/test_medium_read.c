/* SPDX-License-Identifier: ISC */
/* What a reading may say of where its bytes came from. In memory nothing can be shown; on a device the kernel's count
 * decides, here of files the kernel has just been told to forget. */
#include "platform/medium_read.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "platform/machine.h"
#include "platform/thread.h"
#include "platform/volume.h"
#include "platform_fixture.h"
#include "refused_calls.h"
#include "suite.h"

enum { BLOCK = 1 << 20, CONTENT = 3 * BLOCK + 100 };

struct reading {
    struct scratch scratch;
    char *block;
    unsigned times;     /* `read` was called */
    uint64_t size;      /* it read, over all */
    uint64_t claims;    /* more than it read */
    bool reads_other;   /* another file too, from the device */
    enum hr_status say; /* at the end */
    bool was_direct;    /* the last file it was given */
};

static void read_other(const struct reading *reading)
{
    struct hr_file file;
    size_t got = BLOCK;
    ck_assert_int_eq(hr__file_open(&file, &reading->scratch.folder, "b", HR_FILE_READ, false, "b", NULL), HR_OK);
    hr__file_drop_cache(&file);
    for (uint64_t at = 0; got == BLOCK; at += got)
        ck_assert_int_eq(hr__file_read_at(&got, &file, reading->block, BLOCK, at, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
}

static enum hr_status read_whole(void *context, uint64_t *size_bytes, const struct hr_file *file,
                                 struct hr_fault *fault)
{
    struct reading *reading = context;
    size_t got = BLOCK;
    reading->times++;
    reading->was_direct = file->direct;
    reading->size = 0;
    for (; got == BLOCK; reading->size += got)
        ck_assert_int_eq(hr__file_read_at(&got, file, reading->block, BLOCK, reading->size, fault), HR_OK);
    if (reading->reads_other)
        read_other(reading);
    *size_bytes = reading->size + reading->claims;
    return reading->say;
}

static void make_file(const struct reading *reading, const char *name)
{
    struct hr_file file;
    ck_assert_int_eq(hr__file_open(&file, &reading->scratch.folder, name, HR_FILE_CREATE, false, name, NULL), HR_OK);
    memset(reading->block, 'x', BLOCK);
    for (uint64_t at = 0; at < CONTENT; at += BLOCK)
        ck_assert_int_eq(hr__file_write_at(&file, reading->block, BLOCK, at, NULL), HR_OK);
    ck_assert_int_eq(hr__file_truncate(&file, CONTENT, NULL), HR_OK);
    ck_assert_int_eq(hr__file_sync(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
}

static void reading_begin(struct reading *reading)
{
    *reading = (struct reading){.block = hr__aligned_alloc(BLOCK)};
    scratch_begin(&reading->scratch);
    make_file(reading, "a");
}

static void reading_end(struct reading *reading)
{
    scratch_end(&reading->scratch);
    hr__aligned_free(reading->block);
}

/* Can anything be shown of the scratch folder's volume, by this build, here? */
static bool can_show(const struct reading *reading)
{
    struct hr_volume volume;
    struct hr_fetch_count count;
    uint64_t bytes;
    ck_assert_int_eq(hr__volume_of(&volume, reading->scratch.path, &hr__system_roots, NULL), HR_OK);
    hr__fetch_count_open(&count);
    bool can = hr__volume_is_counted(&volume) && hr__fetch_count_read(&bytes, &count);
    hr__fetch_count_close(&count);
    hr__volume_finish(&volume);
    return can;
}

static struct hr_medium_read medium_of(struct reading *reading, const struct hr_fetch_count *count)
{
    return (struct hr_medium_read){.folder = &reading->scratch.folder,
                                   .path = "a",
                                   .shown = "place/a",
                                   .count = count,
                                   .read = read_whole,
                                   .context = reading};
}

static enum hr_proof proof_of(struct reading *reading, bool is_counted, enum hr_status wanted)
{
    enum hr_proof proof = HR_PROOF_NONE;
    struct hr_fault fault = {0};
    struct hr_fetch_count count;
    hr__fetch_count_open(&count);
    const struct hr_medium_read medium = medium_of(reading, is_counted ? &count : NULL);
    reading->times = 0;
    ck_assert_msg(hr__medium_read(&proof, &medium, &fault) == wanted, "%s", fault.text);
    hr__fetch_count_close(&count);
    return proof;
}

static const struct refusal no_direct_access[] = {
    {.call = SYS_openat2, .error = ENOSYS},
    {.call = SYS_openat, .error = EINVAL, .argument = 2, .bits = O_DIRECT},
    {.call = SYS_fcntl, .error = EINVAL, .argument = 2, .bits = O_DIRECT},
    {.call = SYS_fadvise64, .error = EINVAL},
    {.call = SYS_mincore, .error = ENOSYS},
};

enum fetched { NOT_ASKED, NOT_COUNTED, OTHER_BYTES, WHOLE };

/* What comes of a fetch of `size` bytes of the file. */
static enum fetched fetch_counted(struct reading *reading, const struct hr_fetch_count *count, uint64_t size)
{
    struct hr_async_reads reads;
    struct hr_file file;
    hr__async_reads_open(&reads);
    const struct hr_medium_read medium = medium_of(reading, count);
    unsigned char *memory = hr__aligned_alloc(hr__medium_room_for(size));
    memset(memory, 0, hr__medium_room_for(size));
    enum fetched what = NOT_ASKED;
    if (hr__medium_open_to_ask(&file, &medium)) {
        hr__async_read_ask(&reads, 3, &file, memory, 0, hr__medium_room_for(size));
        bool is_from_device = hr__medium_send(&reads, count, size);
        what = hr__async_read_wait(&reads, 3) != size ? OTHER_BYTES : is_from_device ? WHOLE : NOT_COUNTED;
        ck_assert(what != WHOLE || (memory[0] == 'x' && memcmp(memory, memory + 1, size - 1) == 0));
        ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    }
    hr__async_reads_close(&reads);
    hr__aligned_free(memory);
    return what;
}

static enum fetched fetch(struct reading *reading, uint64_t size)
{
    struct hr_fetch_count count;
    hr__fetch_count_open(&count);
    enum fetched what = fetch_counted(reading, &count, size);
    hr__fetch_count_close(&count);
    return what;
}

/* And does the filesystem say that a direct read is one? */
static bool can_fetch(const struct reading *reading)
{
    struct hr_file file;
    ck_assert_int_eq(hr__file_open(&file, &reading->scratch.folder, "a", HR_FILE_READ, true, "a", NULL), HR_OK);
    bool can = can_show(reading) && hr__file_is_direct_for_sure(&file);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    return can;
}

START_TEST(what_was_fetched_came_from_the_device)
{
    struct reading reading;
    reading_begin(&reading);
    ck_assert_int_eq(fetch(&reading, CONTENT), can_fetch(&reading) ? WHOLE : NOT_ASKED);
    ck_assert_int_eq(fetch_counted(&reading, NULL, CONTENT), NOT_ASKED);
    reading_end(&reading);
}
END_TEST

START_TEST(a_file_of_another_size_is_not_taken_for_fetched)
{
    struct reading reading;
    reading_begin(&reading);
    ck_assert_int_ne(fetch(&reading, CONTENT - 1), WHOLE);
    ck_assert_int_ne(fetch(&reading, CONTENT - BLOCK), WHOLE);
    ck_assert_int_ne(fetch(&reading, CONTENT + 1), WHOLE);
    ck_assert_int_ne(fetch(&reading, CONTENT + BLOCK), WHOLE);
    reading_end(&reading);
}
END_TEST

static void open_count(void *count)
{
    hr__fetch_count_open(count);
}

/* The count is of a thread that fetches nothing, as when memory answered. */
START_TEST(what_was_not_counted_is_not_taken_for_fetched)
{
    struct reading reading;
    struct hr_fetch_count count;
    struct hr_thread other = {0};
    reading_begin(&reading);
    ck_assert_int_eq(hr__thread_start(&other, "other", open_count, &count, NULL), HR_OK);
    hr__thread_join(&other);
    ck_assert_int_eq(fetch_counted(&reading, &count, CONTENT), can_fetch(&reading) ? NOT_COUNTED : NOT_ASKED);
    hr__fetch_count_close(&count);
    reading_end(&reading);
}
END_TEST

static void fetch_nothing(void *memory)
{
    ck_assert_int_eq(fetch(memory, CONTENT), NOT_ASKED);
}

static void fetch_as_ever(void *memory)
{
    ck_assert_int_eq(fetch(memory, CONTENT), can_fetch(memory) ? WHOLE : NOT_ASKED);
}

static void fetch_in_vain(void *memory)
{
    ck_assert_int_ne(fetch(memory, CONTENT), WHOLE);
}

START_TEST(fetches_nothing_where_it_cannot_be_shown)
{
    struct reading reading;
    reading_begin(&reading);
    run_refused(no_direct_access, 3, fetch_nothing, &reading);
    RUN_REFUSED(fetch_nothing, &reading, {.call = SYS_statx, .error = ENOSYS});
    reading_end(&reading);
}
END_TEST

/* Asked one by one, or for nothing. */
START_TEST(fetches_where_the_system_does_not_read_several_at_once)
{
    struct reading reading;
    reading_begin(&reading);
    RUN_REFUSED(fetch_as_ever, &reading, {.call = SYS_io_setup, .error = EAGAIN});
    RUN_REFUSED(fetch_as_ever, &reading, {.call = SYS_io_submit, .error = EAGAIN});
    RUN_REFUSED(fetch_in_vain, &reading, {.call = SYS_io_getevents, .error = ENOSYS});
    reading_end(&reading);
}
END_TEST

START_TEST(shows_that_the_bytes_came_from_the_device)
{
    struct reading reading;
    reading_begin(&reading);
    enum hr_proof proof = proof_of(&reading, true, HR_OK);
    ck_assert_uint_eq(reading.size, CONTENT);
    if (can_show(&reading))
        ck_assert_int_eq(proof, reading.was_direct ? HR_PROOF_DIRECT : HR_PROOF_EVICTED);
    else
        ck_assert_int_eq(proof, HR_PROOF_CACHE);
    reading_end(&reading);
}
END_TEST

START_TEST(claims_nothing_of_a_volume_that_is_not_counted)
{
    struct reading reading;
    reading_begin(&reading);
    ck_assert_int_eq(proof_of(&reading, false, HR_OK), HR_PROOF_CACHE);
    ck_assert_uint_eq(reading.size, CONTENT);
    reading_end(&reading);
}
END_TEST

/* As when memory answered for part of it. */
START_TEST(reads_anew_and_claims_nothing_when_the_count_is_too_small)
{
    struct reading reading;
    reading_begin(&reading);
    reading.claims = 1 << 20;
    ck_assert_int_eq(proof_of(&reading, true, HR_OK), HR_PROOF_CACHE);
    ck_assert(!reading.was_direct);
    ck_assert_uint_eq(reading.size, CONTENT);
    reading_end(&reading);
}
END_TEST

static void read_without_direct_access(void *memory)
{
    struct reading *reading = memory;
    bool can = can_show(reading);
    ck_assert_int_eq(proof_of(reading, true, HR_OK), can ? HR_PROOF_EVICTED : HR_PROOF_CACHE);
    ck_assert_uint_eq(reading->times, 1);
}

static void read_where_nothing_is_forgotten(void *memory)
{
    ck_assert_int_eq(proof_of(memory, true, HR_OK), HR_PROOF_CACHE);
}

START_TEST(empties_the_cache_where_it_cannot_read_past_it)
{
    struct reading reading;
    reading_begin(&reading);
    run_refused(no_direct_access, 3, read_without_direct_access, &reading);
    reading_end(&reading);
}
END_TEST

START_TEST(claims_nothing_where_the_cache_keeps_what_it_has)
{
    struct reading reading;
    reading_begin(&reading);
    run_refused(no_direct_access, 4, read_where_nothing_is_forgotten, &reading);
    reading_end(&reading);
}
END_TEST

START_TEST(claims_nothing_where_the_cache_cannot_be_looked_into)
{
    struct reading reading;
    reading_begin(&reading);
    run_refused(no_direct_access, 3, read_without_direct_access, &reading);
    const struct refusal blind[] = {no_direct_access[0], no_direct_access[1], no_direct_access[2], no_direct_access[4]};
    run_refused(blind, 4, read_where_nothing_is_forgotten, &reading);
    reading_end(&reading);
}
END_TEST

/* Pages that are mapped are not forgotten, and the count grows for other reasons than this file. */
START_TEST(claims_nothing_where_somebody_holds_the_pages)
{
    struct reading reading;
    reading_begin(&reading);
    make_file(&reading, "b");
    reading.reads_other = true;
    int descriptor = open(scratch_path(&reading.scratch, "a"), O_RDONLY);
    volatile const char *held = mmap(NULL, CONTENT, PROT_READ, MAP_SHARED, descriptor, 0);
    ck_assert_ptr_ne((const void *)held, MAP_FAILED);
    for (size_t at = 0; at < CONTENT; at += 512)
        ck_assert_int_eq(held[at], 'x');
    run_refused(no_direct_access, 3, read_where_nothing_is_forgotten, &reading);
    close(descriptor);
    reading_end(&reading);
}
END_TEST

START_TEST(hands_on_what_the_reading_says)
{
    struct reading reading;
    enum hr_proof proof;
    struct hr_fault fault = {0};
    reading_begin(&reading);
    reading.say = HR_DIFFERS;
    ck_assert_int_eq(proof_of(&reading, true, HR_DIFFERS), HR_PROOF_CACHE);
    ck_assert_uint_eq(reading.times, 1);
    const struct hr_medium_read none = {.folder = &reading.scratch.folder,
                                        .path = "none",
                                        .shown = "place/none",
                                        .read = read_whole,
                                        .context = &reading};
    ck_assert_int_eq(hr__medium_read(&proof, &none, &fault), HR_NOT_FOUND);
    ck_assert_ptr_nonnull(strstr(fault.text, "place/none"));
    reading_end(&reading);
}
END_TEST

HR_SUITE("platform/medium_read", shows_that_the_bytes_came_from_the_device,
         claims_nothing_of_a_volume_that_is_not_counted, reads_anew_and_claims_nothing_when_the_count_is_too_small,
         empties_the_cache_where_it_cannot_read_past_it, claims_nothing_where_the_cache_keeps_what_it_has,
         claims_nothing_where_the_cache_cannot_be_looked_into, claims_nothing_where_somebody_holds_the_pages,
         hands_on_what_the_reading_says, what_was_fetched_came_from_the_device,
         what_was_not_counted_is_not_taken_for_fetched, a_file_of_another_size_is_not_taken_for_fetched,
         fetches_nothing_where_it_cannot_be_shown, fetches_where_the_system_does_not_read_several_at_once)
