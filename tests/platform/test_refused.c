/* SPDX-License-Identifier: ISC */
/* What becomes of each call of this room when the system refuses: its status, its words, and that nothing is lost. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "platform/machine.h"
#include "platform/system.h"
#include "platform/thread.h"
#include "platform_fixture.h"
#include "refused_calls.h"
#include "suite.h"

static enum hr_status opened(const struct scratch *scratch, const char *name, enum hr_file_use use)
{
    struct hr_file file;
    enum hr_status status = hr__file_open(&file, &scratch->folder, name, use, false, name, NULL);
    (void)hr__file_close(&file, NULL);
    return status;
}

/* ---- Renaming ---- */

static void rename_checked(void *memory)
{
    const struct scratch *scratch = memory;
    ck_assert_int_eq(hr__folder_rename(&scratch->folder, "a", "taken", NULL), HR_EXISTS);
    ck_assert_int_eq(hr__folder_rename(&scratch->folder, "a", "link", NULL), HR_EXISTS);
    ck_assert_int_eq(hr__folder_rename(&scratch->folder, "none", "b", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_rename(&scratch->folder, "a", "b", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_rename(&scratch->folder, "folder", "moved", NULL), HR_OK);
}

/* As exFAT over FUSE: neither a rename that replaces nothing nor a second name. */
START_TEST(renames_without_replacing_where_the_volume_cannot_promise_it)
{
    static const int errors[] = {EINVAL, ENOSYS};
    for (size_t i = 0; i < sizeof errors / sizeof *errors; i++) {
        struct scratch scratch;
        scratch_begin(&scratch);
        scratch_write_text(&scratch, "a", "new");
        scratch_write_text(&scratch, "taken", "old");
        scratch_write_text(&scratch, "folder/x", "");
        ck_assert_int_eq(symlink("nowhere", scratch_path(&scratch, "link")), 0);
        RUN_REFUSED(rename_checked, &scratch, {.call = SYS_renameat2, .error = errors[i]},
                    {.call = SYS_linkat, .error = EPERM});
        ck_assert_int_eq(access(scratch_path(&scratch, "a"), F_OK), -1);
        ck_assert_int_eq(access(scratch_path(&scratch, "b"), F_OK), 0);
        ck_assert_int_eq(access(scratch_path(&scratch, "moved/x"), F_OK), 0);
        char *bytes = NULL;
        size_t size;
        ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch.folder, "taken", 10, "taken", NULL), HR_OK);
        ck_assert_str_eq(bytes, "old");
        free(bytes);
        scratch_end(&scratch);
    }
}
END_TEST

static void fail_to_rename(void *memory)
{
    const struct scratch *scratch = memory;
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__folder_rename(&scratch->folder, "a", "b", &fault), HR_IO);
    ck_assert_int_eq(fault.system_error, EIO);
    ck_assert_ptr_nonnull(strstr(fault.text, "/b"));
}

START_TEST(takes_no_other_way_to_rename_when_the_device_fails)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a", "kept");
    RUN_REFUSED(fail_to_rename, &scratch, {.call = SYS_renameat2, .error = EIO}, {.call = SYS_linkat, .error = EIO});
    ck_assert_int_eq(access(scratch_path(&scratch, "a"), F_OK), 0);
    ck_assert_int_eq(access(scratch_path(&scratch, "b"), F_OK), -1);
    scratch_end(&scratch);
}
END_TEST

/* ---- Opening ---- */

static void open_by_component(void *memory)
{
    const struct scratch *scratch = memory;
    ck_assert_int_eq(opened(scratch, "a/b/file", HR_FILE_READ), HR_OK);
    ck_assert_int_eq(opened(scratch, "a/b/new", HR_FILE_CREATE), HR_OK);
    ck_assert_int_eq(opened(scratch, "a/b/none", HR_FILE_READ), HR_NOT_FOUND);
    ck_assert_int_eq(opened(scratch, "link/b/file", HR_FILE_READ), HR_UNSUPPORTED);
    ck_assert_int_eq(opened(scratch, "a/b/link", HR_FILE_READ), HR_UNSUPPORTED);
    ck_assert_int_eq(opened(scratch, "a/../a/b/file", HR_FILE_READ), HR_INVALID);
    ck_assert_int_eq(opened(scratch, "a/b/file/x", HR_FILE_READ), HR_INVALID);
    ck_assert_int_eq(hr__folder_make(&scratch->folder, "link/c", NULL), HR_UNSUPPORTED);
    ck_assert_int_eq(hr__folder_make(&scratch->folder, "a/c/d", NULL), HR_OK);
}

/* An old kernel does not know openat2, an old sandbox forbids it. */
START_TEST(opens_as_safely_where_one_call_for_a_path_is_not_to_be_had)
{
    static const int errors[] = {ENOSYS, EPERM};
    for (size_t i = 0; i < sizeof errors / sizeof *errors; i++) {
        struct scratch scratch;
        scratch_begin(&scratch);
        scratch_write_text(&scratch, "a/b/file", "x");
        ck_assert_int_eq(symlink("a", scratch_path(&scratch, "link")), 0);
        ck_assert_int_eq(symlink("file", scratch_path(&scratch, "a/b/link")), 0);
        RUN_REFUSED(open_by_component, &scratch, {.call = SYS_openat2, .error = errors[i]});
        scratch_end(&scratch);
    }
}
END_TEST

static void use_plainly(void *memory)
{
    enum { SIZE = 2 * HR_DIRECT_ALIGNMENT };
    const struct scratch *scratch = memory;
    char *bytes = hr__aligned_alloc(SIZE);
    struct hr_file file;
    size_t got = 0;
    memset(bytes, 'x', SIZE);
    ck_assert_int_eq(hr__file_open(&file, &scratch->folder, "a", HR_FILE_CREATE, true, "a", NULL), HR_OK);
    ck_assert(!file.direct);
    ck_assert_int_eq(hr__file_write_at(&file, bytes, SIZE - 7, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__file_open(&file, &scratch->folder, "a", HR_FILE_READ, true, "a", NULL), HR_OK);
    ck_assert(!file.direct);
    ck_assert_int_eq(hr__file_read_at(&got, &file, bytes, SIZE, 0, NULL), HR_OK);
    ck_assert_uint_eq(got, SIZE - 7);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    hr__aligned_free(bytes);
}

/* As on filesystems without direct access; the way by openat shows its flags to the filter. */
START_TEST(opens_plainly_where_direct_access_is_refused)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    RUN_REFUSED(use_plainly, &scratch, {.call = SYS_openat2, .error = ENOSYS},
                {.call = SYS_openat, .error = EINVAL, .argument = 2, .bits = O_DIRECT},
                {.call = SYS_fcntl, .error = EINVAL, .argument = 2, .bits = O_DIRECT});
    scratch_end(&scratch);
}
END_TEST

static void read_anothers(void *memory)
{
    ck_assert_int_eq(opened(memory, "a", HR_FILE_READ), HR_OK);
}

/* Who is not the owner may not ask for this. */
START_TEST(reads_where_access_times_may_not_be_left_alone)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a", "x");
    RUN_REFUSED(read_anothers, &scratch, {.call = SYS_openat2, .error = ENOSYS},
                {.call = SYS_openat, .error = EPERM, .argument = 2, .bits = O_NOATIME},
                {.call = SYS_fcntl, .error = EPERM, .argument = 2, .bits = O_NOATIME});
    scratch_end(&scratch);
}
END_TEST

/* ---- Durability ---- */

static void fail_to_sync(void *memory)
{
    const struct scratch *scratch = memory;
    struct hr_file file;
    struct hr_fault fault = {0};
    enum hr_status wanted = hr__folder_can_sync_volume() ? HR_IO : HR_UNSUPPORTED;
    ck_assert_int_eq(hr__folder_sync_volume(&scratch->folder, &fault), wanted);
    ck_assert_int_eq(fault.status, wanted == HR_IO ? HR_IO : HR_OK);
    ck_assert(wanted != HR_IO || strstr(fault.text, scratch->path));
    hr_fault_clear(&fault);
    ck_assert_int_eq(hr__folder_sync(&scratch->folder, "folder", &fault), HR_FULL);
    ck_assert_ptr_nonnull(strstr(fault.text, "cannot make durable the folder"));
    ck_assert_ptr_nonnull(strstr(fault.text, "/folder: No space left on device"));
    hr_fault_clear(&fault);
    ck_assert_int_eq(hr__file_open(&file, &scratch->folder, "a", HR_FILE_READ, false, "a", NULL), HR_OK);
    ck_assert_int_eq(hr__file_sync(&file, &fault), HR_FULL);
    ck_assert_str_eq(fault.text, "cannot make durable a: No space left on device");
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
}

/* syncfs itself does all that is asked of it. */
static void fail_to_empty_the_drive(void *memory)
{
    const struct scratch *scratch = memory;
    enum hr_status wanted = hr__folder_can_sync_volume() ? HR_IO : HR_UNSUPPORTED;
    ck_assert_int_eq(hr__folder_sync_volume(&scratch->folder, NULL), wanted);
}

START_TEST(tells_every_sync_that_failed)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a", "x");
    scratch_write_text(&scratch, "folder/x", "");
    RUN_REFUSED(fail_to_sync, &scratch, {.call = SYS_syncfs, .error = EIO}, {.call = SYS_fsync, .error = ENOSPC});
    RUN_REFUSED(fail_to_empty_the_drive, &scratch, {.call = SYS_fsync, .error = EIO});
    scratch_end(&scratch);
}
END_TEST

static void fail_to_close(void *memory)
{
    const struct scratch *scratch = memory;
    struct hr_file file;
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__file_open(&file, &scratch->folder, "a", HR_FILE_READ, false, "a", NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, &fault), HR_IO);
    ck_assert_str_eq(fault.text, "cannot close a: Input/output error");
    ck_assert_int_eq(file.descriptor, -1);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
}

START_TEST(tells_a_close_that_lost_something)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a", "x");
    RUN_REFUSED(fail_to_close, &scratch, {.call = SYS_close, .error = EIO});
    scratch_end(&scratch);
}
END_TEST

/* ---- The device is gone, the folder full or read-only ---- */

static void meet_a_gone_device(void *memory)
{
    const struct scratch *scratch = memory;
    struct hr_file file;
    struct hr_file_facts facts;
    char byte;
    size_t got;
    ck_assert_int_eq(hr__file_open(&file, &scratch->folder, "a", HR_FILE_APPEND, false, "a", NULL), HR_OK);
    ck_assert_int_eq(hr__file_append(&file, "x", 1, NULL), HR_GONE);
    ck_assert_int_eq(hr__file_write_at(&file, "x", 1, 0, NULL), HR_GONE);
    ck_assert_int_eq(hr__file_read_at(&got, &file, &byte, 1, 0, NULL), HR_GONE);
    ck_assert_int_eq(hr__file_truncate(&file, 0, NULL), HR_GONE);
    ck_assert_int_eq(hr__file_set_modified(&file, 0, NULL), HR_GONE);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_make(&scratch->folder, "new", NULL), HR_GONE);
    ck_assert_int_eq(hr__folder_make_new(&scratch->folder, "new", NULL), HR_GONE);
    ck_assert_int_eq(hr__folder_remove(&scratch->folder, "a", NULL), HR_GONE);
    ck_assert_int_eq(hr__folder_lock(&scratch->folder, NULL), HR_GONE);
    ck_assert_int_eq(hr__folder_facts(&facts, &scratch->folder, "a", NULL), HR_OK);
}

START_TEST(says_gone_when_the_device_went)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a", "x");
    RUN_REFUSED(meet_a_gone_device, &scratch, {.call = SYS_write, .error = ENODEV},
                {.call = SYS_pwrite64, .error = ENXIO}, {.call = SYS_pread64, .error = ENODEV},
                {.call = SYS_ftruncate, .error = ENODEV}, {.call = SYS_utimensat, .error = ENODEV},
                {.call = SYS_mkdirat, .error = ENOTCONN}, {.call = SYS_unlinkat, .error = ENODEV},
                {.call = SYS_flock, .error = ESTALE});
    scratch_end(&scratch);
}
END_TEST

static void list_without_facts(void *memory)
{
    const struct scratch *scratch = memory;
    struct hr_entry *entries = NULL;
    size_t count = 0;
    ck_assert_int_eq(hr__folder_list(&entries, &count, &scratch->folder, "", 10, NULL), HR_OK);
    ck_assert_uint_eq(count, 2);
    for (size_t i = 0; i < count; i++) {
        ck_assert_int_eq(entries[i].status, HR_IO);
        ck_assert_int_eq(entries[i].kind, HR_ENTRY_OTHER);
        ck_assert_uint_eq(entries[i].facts.size_bytes, 0);
    }
    ck_assert_str_eq(entries[1].name, "b");
    hr__entries_free(entries, count);
}

static void fail_to_list(void *memory)
{
    const struct scratch *scratch = memory;
    struct hr_entry *entries = NULL;
    size_t count = 0;
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__folder_list(&entries, &count, &scratch->folder, "", 10, &fault), HR_IO);
    ck_assert_ptr_nonnull(strstr(fault.text, "cannot list"));
    ck_assert_ptr_null(entries);
}

START_TEST(lists_an_entry_that_cannot_be_asked_about_and_no_torn_list)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a", "12");
    scratch_write_text(&scratch, "b", "12");
    RUN_REFUSED(list_without_facts, &scratch,
                {.call = SYS_newfstatat, .error = EIO, .argument = 3, .bits = AT_SYMLINK_NOFOLLOW});
    RUN_REFUSED(fail_to_list, &scratch, {.call = SYS_getdents64, .error = EIO});
    scratch_end(&scratch);
}
END_TEST

/* ---- Threads ---- */

static void do_nothing(void *memory)
{
    (void)memory;
}

static void fail_to_start(void *memory)
{
    struct hr_thread thread = {.started = true};
    struct hr_fault fault = {0};
    (void)memory;
    ck_assert_int_eq(hr__thread_start(&thread, "reader", do_nothing, NULL, &fault), HR_NOMEM);
    ck_assert_str_eq(fault.text, "cannot start the thread reader: Resource temporarily unavailable");
    ck_assert(!thread.started);
    hr__thread_join(&thread);
}

START_TEST(says_when_there_is_no_thread_to_be_had)
{
    RUN_REFUSED(fail_to_start, NULL, {.call = SYS_clone3, .error = EAGAIN}, {.call = SYS_clone, .error = EAGAIN});
}
END_TEST

HR_SUITE("platform/refused", renames_without_replacing_where_the_volume_cannot_promise_it,
         takes_no_other_way_to_rename_when_the_device_fails, opens_as_safely_where_one_call_for_a_path_is_not_to_be_had,
         opens_plainly_where_direct_access_is_refused, reads_where_access_times_may_not_be_left_alone,
         tells_every_sync_that_failed, tells_a_close_that_lost_something, says_gone_when_the_device_went,
         lists_an_entry_that_cannot_be_asked_about_and_no_torn_list, says_when_there_is_no_thread_to_be_had)
