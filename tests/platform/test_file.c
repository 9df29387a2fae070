/* SPDX-License-Identifier: ISC */
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "base/units.h"
#include "platform/file.h"
#include "platform/machine.h"
#include "platform/system.h"
#include "platform_fixture.h"
#include "suite.h"

static struct hr_file open_file(const struct scratch *scratch, const char *name, enum hr_file_use use, bool direct)
{
    struct hr_file file;
    struct hr_fault fault = {0};
    ck_assert_msg(hr__file_open(&file, &scratch->folder, name, use, direct, name, &fault) == HR_OK, "%s", fault.text);
    return file;
}

static enum hr_status try_open(const struct scratch *scratch, const char *name, enum hr_file_use use)
{
    struct hr_file file;
    struct hr_fault fault = {0};
    enum hr_status status = hr__file_open(&file, &scratch->folder, name, use, false, name, &fault);
    ck_assert_int_eq(fault.status, status);
    ck_assert_int_eq(file.descriptor, -1);
    return status;
}

START_TEST(finds_the_border_a_direct_write_needs)
{
    static const uint64_t rows[][2] = {{0, 0}, {1, 4096}, {4095, 4096}, {4096, 4096}, {4097, 8192}, {1 << 20, 1 << 20}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_uint_eq(hr__direct_border(rows[i][0]), rows[i][1]);
}
END_TEST

START_TEST(reads_back_what_it_wrote)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    struct hr_file file = open_file(&scratch, "a", HR_FILE_CREATE, false);
    ck_assert_int_eq(hr__file_write_at(&file, "world", 5, 6, NULL), HR_OK);
    ck_assert_int_eq(hr__file_write_at(&file, "hello ", 6, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_sync(&file, NULL), HR_OK);
    char bytes[64];
    size_t got = 0;
    ck_assert_int_eq(hr__file_read_at(&got, &file, bytes, sizeof bytes, 0, NULL), HR_OK);
    ck_assert_uint_eq(got, 11);
    ck_assert_mem_eq(bytes, "hello world", 11);
    ck_assert_int_eq(hr__file_read_at(&got, &file, bytes, sizeof bytes, 11, NULL), HR_OK);
    ck_assert_uint_eq(got, 0);
    ck_assert_int_eq(hr__file_truncate(&file, 5, NULL), HR_OK);
    struct hr_file_facts facts;
    ck_assert_int_eq(hr__file_facts(&facts, &file, NULL), HR_OK);
    ck_assert_uint_eq(facts.size_bytes, 5);
    ck_assert(facts.is_regular && !facts.is_folder && !facts.is_link);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

START_TEST(appends_to_what_stands)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    for (int i = 0; i < 2; i++) {
        struct hr_file file = open_file(&scratch, "journal", HR_FILE_APPEND, false);
        ck_assert_int_eq(hr__file_append(&file, "row\n", 4, NULL), HR_OK);
        ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    }
    char *bytes = NULL;
    size_t size = 0;
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch.folder, "journal", 100, "journal", NULL), HR_OK);
    ck_assert_uint_eq(size, 8);
    ck_assert_str_eq(bytes, "row\nrow\n");
    free(bytes);
    scratch_end(&scratch);
}
END_TEST

START_TEST(never_opens_what_stands_as_new)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a", "kept");
    ck_assert_int_eq(try_open(&scratch, "a", HR_FILE_CREATE), HR_EXISTS);
    ck_assert_int_eq(symlink("nowhere", scratch_path(&scratch, "link")), 0);
    ck_assert_int_eq(try_open(&scratch, "link", HR_FILE_CREATE), HR_EXISTS);
    ck_assert_int_eq(access(scratch_path(&scratch, "nowhere"), F_OK), -1);
    scratch_end(&scratch);
}
END_TEST

START_TEST(tells_missing_from_forbidden_paths)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    ck_assert_int_eq(try_open(&scratch, "none", HR_FILE_READ), HR_NOT_FOUND);
    ck_assert_int_eq(try_open(&scratch, "none/a", HR_FILE_CREATE), HR_NOT_FOUND);
    ck_assert_int_eq(try_open(&scratch, "../a", HR_FILE_READ), HR_INVALID);
    ck_assert_int_eq(try_open(&scratch, "/etc/passwd", HR_FILE_READ), HR_INVALID);
    scratch_end(&scratch);
}
END_TEST

START_TEST(follows_no_link)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "real/a", "secret");
    ck_assert_int_eq(symlink("real", scratch_path(&scratch, "folder")), 0);
    ck_assert_int_eq(symlink("real/a", scratch_path(&scratch, "file")), 0);
    ck_assert_int_eq(symlink("/etc/passwd", scratch_path(&scratch, "outside")), 0);
    static const char *const names[] = {"folder/a", "file", "outside"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        ck_assert_int_eq(try_open(&scratch, names[i], HR_FILE_READ), HR_UNSUPPORTED);
        ck_assert_int_eq(try_open(&scratch, names[i], HR_FILE_APPEND), HR_UNSUPPORTED);
    }
    scratch_end(&scratch);
}
END_TEST

START_TEST(refuses_what_is_no_regular_file_without_waiting)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    ck_assert_int_eq(mkfifo(scratch_path(&scratch, "fifo"), 0666), 0);
    ck_assert_int_eq(mkdir(scratch_path(&scratch, "folder"), 0777), 0);
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    ck_assert_int_lt(snprintf(address.sun_path, sizeof address.sun_path, "%s", scratch_path(&scratch, "socket")),
                     (int)sizeof address.sun_path);
    int listener = socket(AF_UNIX, SOCK_STREAM, 0);
    ck_assert_int_eq(bind(listener, (const struct sockaddr *)&address, sizeof address), 0);
    static const char *const names[] = {"fifo", "folder", "socket"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        ck_assert_int_eq(try_open(&scratch, names[i], HR_FILE_READ), HR_UNSUPPORTED);
        ck_assert_int_eq(try_open(&scratch, names[i], HR_FILE_APPEND), HR_UNSUPPORTED);
    }
    close(listener);
    scratch_end(&scratch);
}
END_TEST

START_TEST(keeps_times_to_the_nanosecond)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    struct hr_file file = open_file(&scratch, "a", HR_FILE_CREATE, false);
    static const int64_t times[] = {1747490705123456789, 0, -1, -1500000000};
    for (size_t i = 0; i < sizeof times / sizeof *times; i++) {
        struct hr_file_facts facts;
        ck_assert_int_eq(hr__file_set_modified(&file, times[i], NULL), HR_OK);
        ck_assert_int_eq(hr__file_facts(&facts, &file, NULL), HR_OK);
        ck_assert_int_eq(facts.modified_ns, times[i]);
    }
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

START_TEST(writes_and_reads_past_the_cache_where_it_can)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    enum { SIZE = 3 * HR_DIRECT_ALIGNMENT, CONTENT = SIZE - 1000 };
    char *written = hr__aligned_alloc(SIZE), *read = hr__aligned_alloc(SIZE);
    for (size_t i = 0; i < SIZE; i++)
        written[i] = (char)(i * 7);
    struct hr_file file = open_file(&scratch, "a", HR_FILE_CREATE, true);
    ck_assert_int_eq(hr__file_write_at(&file, written, SIZE, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_write_at(&file, written, CONTENT, 0, NULL), HR_OK);
    ck_assert(!file.direct); /* since the last block is not whole */
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    file = open_file(&scratch, "b", HR_FILE_CREATE, true);
    ck_assert_int_eq(hr__file_write_at(&file, written, CONTENT, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    file = open_file(&scratch, "b", HR_FILE_READ, true);
    size_t got = 0;
    ck_assert_int_eq(hr__file_read_at(&got, &file, read, SIZE, 0, NULL), HR_OK);
    ck_assert_uint_eq(got, CONTENT);
    ck_assert_mem_eq(read, written, CONTENT);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    hr__aligned_free(written);
    hr__aligned_free(read);
    scratch_end(&scratch);
}
END_TEST

START_TEST(says_what_the_system_refused_and_where)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    signal(SIGXFSZ, SIG_IGN);
    const struct rlimit limit = {.rlim_cur = 4096, .rlim_max = RLIM_INFINITY};
    struct hr_file file = open_file(&scratch, "a", HR_FILE_CREATE, false);
    file.path = "clip\n.mov";
    struct hr_fault fault = {0};
    char bytes[8192] = "";
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    ck_assert_int_eq(hr__file_write_at(&file, bytes, sizeof bytes, 0, &fault), HR_TOO_LARGE);
    ck_assert_int_eq(fault.system_error, EFBIG);
    ck_assert_str_eq(fault.text, "cannot write clip%0A.mov: File too large");
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

START_TEST(tells_a_failed_close)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    struct hr_file file = open_file(&scratch, "a", HR_FILE_CREATE, false);
    close(file.descriptor);
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__file_close(&file, &fault), HR_INVALID);
    ck_assert_int_eq(fault.system_error, EBADF);
    ck_assert_int_eq(file.descriptor, -1);
    scratch_end(&scratch);
}
END_TEST

START_TEST(loads_small_files_whole_and_large_ones_not_at_all)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write(&scratch, "a", "12345", 5);
    scratch_write(&scratch, "empty", "", 0);
    char *bytes = NULL;
    size_t size = 99;
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch.folder, "a", 5, "a", NULL), HR_OK);
    ck_assert_uint_eq(size, 5);
    ck_assert_str_eq(bytes, "12345");
    free(bytes);
    bytes = NULL;
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch.folder, "a", 4, "a", &fault), HR_TOO_LARGE);
    ck_assert_ptr_null(bytes);
    ck_assert_str_eq(fault.text, "larger than allowed: a");
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch.folder, "empty", 0, "empty", NULL), HR_OK);
    ck_assert_uint_eq(size, 0);
    ck_assert_str_eq(bytes, "");
    free(bytes);
    scratch_end(&scratch);
}
END_TEST

/* A volume may claim any time: what does not fit in nanoseconds becomes the first or last that does. */
START_TEST(takes_any_time_a_volume_claims)
{
    static const struct {
        int64_t s, ns, told;
    } rows[] = {
        {0, 0, 0},
        {1778900000, 999999999, 1778900000999999999},
        {-1, 500000000, -500000000},
        {9223372035, 999999999, 9223372035999999999}, /* 2262-04-11, a second before the last */
        {9223372036, 0, INT64_MAX},
        {INT64_MAX, 0, INT64_MAX},
        {-9223372035, 0, -9223372035000000000},
        {-9223372036, 0, INT64_MIN},
        {INT64_MIN, 0, INT64_MIN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct stat stat_of = {.st_mode = S_IFREG | 04640, .st_size = 7};
        stat_of.st_mtim = (struct timespec){.tv_sec = rows[i].s, .tv_nsec = rows[i].ns};
        struct hr_file_facts facts = hr__facts_of_stat(&stat_of);
        ck_assert_int_eq(facts.modified_ns, rows[i].told);
        ck_assert_uint_eq(facts.permissions, 0640);
        ck_assert_uint_eq(facts.size_bytes, 7);
    }
    struct stat odd = {.st_mode = S_IFIFO, .st_size = -1};
    struct hr_file_facts facts = hr__facts_of_stat(&odd);
    ck_assert_uint_eq(facts.size_bytes, 0);
    ck_assert(!facts.is_folder && !facts.is_regular && !facts.is_link);
}
END_TEST

START_TEST(gives_each_system_error_its_status)
{
    static const struct {
        int error;
        enum hr_status status;
    } rows[] = {
        {0, HR_OK},
        {ENOENT, HR_NOT_FOUND},
        {EEXIST, HR_EXISTS},
        {EACCES, HR_DENIED},
        {EPERM, HR_DENIED},
        {EROFS, HR_READ_ONLY},
        {ENOSPC, HR_FULL},
        {EDQUOT, HR_FULL},
        {EFBIG, HR_TOO_LARGE},
        {ENODEV, HR_GONE},
        {ENXIO, HR_GONE},
        {ENOTCONN, HR_GONE},
        {ESTALE, HR_GONE},
        {EIO, HR_IO},
        {ENOMEM, HR_NOMEM},
        {EMFILE, HR_NOMEM},
        {EINVAL, HR_INVALID},
        {EBUSY, HR_BUSY},
        {EOPNOTSUPP, HR_UNSUPPORTED},
        {ELOOP, HR_UNSUPPORTED},
        {EBADMSG, HR_IO},
        {EINTR, HR_IO},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_msg(hr__status_of_errno(rows[i].error) == rows[i].status, "%s", strerror(rows[i].error));
}
END_TEST

HR_SUITE("platform/file", finds_the_border_a_direct_write_needs, reads_back_what_it_wrote, appends_to_what_stands,
         never_opens_what_stands_as_new, tells_missing_from_forbidden_paths, follows_no_link,
         refuses_what_is_no_regular_file_without_waiting, keeps_times_to_the_nanosecond,
         writes_and_reads_past_the_cache_where_it_can, says_what_the_system_refused_and_where, tells_a_failed_close,
         loads_small_files_whole_and_large_ones_not_at_all, takes_any_time_a_volume_claims,
         gives_each_system_error_its_status)
