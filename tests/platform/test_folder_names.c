/* SPDX-License-Identifier: ISC */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "platform/folder.h"
#include "platform_fixture.h"
#include "refused_calls.h"
#include "suite.h"

START_TEST(gives_a_file_a_second_name_and_replaces_nothing)
{
    struct scratch scratch;
    struct hr_file_facts first, second;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a/x", "goal");
    scratch_write_text(&scratch, "b/z", "other");
    ck_assert_int_eq(hr__folder_link(&scratch.folder, "a/x", "b/y", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_facts(&first, &scratch.folder, "a/x", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_facts(&second, &scratch.folder, "b/y", NULL), HR_OK);
    ck_assert_uint_eq(first.inode, second.inode);
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__folder_link(&scratch.folder, "a/x", "b/z", &fault), HR_EXISTS);
    ck_assert_ptr_nonnull(strstr(fault.text, "b/z"));
    ck_assert_int_eq(hr__folder_link(&scratch.folder, "a/none", "b/n", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_link(&scratch.folder, "a/x", "../n", NULL), HR_INVALID);
    scratch_end(&scratch);
}
END_TEST

START_TEST(puts_a_file_in_the_place_of_another)
{
    struct scratch scratch;
    char *bytes = NULL;
    size_t size = 0;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, ".x.part", "new");
    scratch_write_text(&scratch, "x", "old");
    ck_assert_int_eq(hr__folder_replace(&scratch.folder, ".x.part", "x", NULL), HR_OK);
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch.folder, "x", 10, "x", NULL), HR_OK);
    ck_assert_str_eq(bytes, "new");
    free(bytes);
    ck_assert_int_eq(access(scratch_path(&scratch, ".x.part"), F_OK), -1);
    ck_assert_int_eq(hr__folder_replace(&scratch.folder, ".x.part", "x", NULL), HR_NOT_FOUND);
    scratch_end(&scratch);
}
END_TEST

static void expect_text(const struct scratch *scratch, const char *name, const char *expected)
{
    char *bytes = NULL;
    size_t size = 0;
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch->folder, name, 10, name, NULL), HR_OK);
    ck_assert_str_eq(bytes, expected);
    free(bytes);
}

static void fail_to_put(void *memory)
{
    const struct scratch *scratch = memory;
    ck_assert_int_eq(hr__folder_put(&scratch->folder, "a/x", "newest", 6, NULL), HR_IO);
}

START_TEST(a_file_becomes_new_content_whole_or_stays)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a/x", "old");
    scratch_write_text(&scratch, "a/.x.part", "of a run that died");
    ck_assert_int_eq(hr__folder_put(&scratch.folder, "a/x", "new", 3, NULL), HR_OK);
    expect_text(&scratch, "a/x", "new");
    ck_assert_int_eq(hr__folder_put(&scratch.folder, "y", "", 0, NULL), HR_OK);
    expect_text(&scratch, "y", "");
    RUN_REFUSED(fail_to_put, &scratch, {.call = SYS_pwrite64, .error = EIO});
    expect_text(&scratch, "a/x", "new");
    ck_assert_int_eq(access(scratch_path(&scratch, "a/.x.part"), F_OK), -1);
    ck_assert_int_eq(hr__folder_put(&scratch.folder, "none/x", "new", 3, NULL), HR_NOT_FOUND);
    scratch_end(&scratch);
}
END_TEST

static void expect_links(struct scratch *scratch, bool expected)
{
    bool has_links = !expected;
    struct hr_entry *entries = NULL;
    size_t count = 1;
    ck_assert_int_eq(hr__folder_has_links(&has_links, &scratch->folder, "b", NULL), HR_OK);
    ck_assert_int_eq(has_links, expected);
    ck_assert_int_eq(hr__folder_list(&entries, &count, &scratch->folder, "b", 10, NULL), HR_OK);
    ck_assert_uint_eq(count, 0);
    hr__entries_free(entries, count);
}

static void expect_no_links(void *scratch)
{
    expect_links(scratch, false);
}

static void expect_trouble(void *memory)
{
    const struct scratch *scratch = memory;
    bool has_links = true;
    ck_assert_int_eq(hr__folder_has_links(&has_links, &scratch->folder, "b", NULL), HR_IO);
    ck_assert(!has_links);
}

START_TEST(tells_whether_a_filesystem_has_links_and_leaves_nothing_there)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    ck_assert_int_eq(mkdir(scratch_path(&scratch, "b"), 0777), 0);
    expect_links(&scratch, true);
    /* What Linux says on FAT (link(2)), FUSE without the call, and others. */
    RUN_REFUSED(expect_no_links, &scratch, {.call = SYS_linkat, .error = EPERM});
    RUN_REFUSED(expect_no_links, &scratch, {.call = SYS_linkat, .error = ENOSYS});
    RUN_REFUSED(expect_no_links, &scratch, {.call = SYS_linkat, .error = EOPNOTSUPP});
    RUN_REFUSED(expect_trouble, &scratch, {.call = SYS_linkat, .error = EIO});
    scratch_end(&scratch);
}
END_TEST

static void expect_no_sharing(void *memory)
{
    struct scratch *scratch = memory;
    struct hr_file from, to;
    ck_assert_int_eq(hr__file_open(&from, &scratch->folder, "x", HR_FILE_READ, false, "x", NULL), HR_OK);
    ck_assert_int_eq(hr__file_open(&to, &scratch->folder, "y", HR_FILE_CREATE, false, "y", NULL), HR_OK);
    ck_assert_int_eq(hr__file_share(&to, &from, NULL), HR_UNSUPPORTED);
    ck_assert_int_eq(hr__file_close(&to, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&from, NULL), HR_OK);
    ck_assert_int_eq(unlink(scratch_path(scratch, "y")), 0);
}

START_TEST(says_where_blocks_cannot_be_shared)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "x", "goal");
    RUN_REFUSED(expect_no_sharing, &scratch, {.call = SYS_ioctl, .error = ENOTTY});
    RUN_REFUSED(expect_no_sharing, &scratch, {.call = SYS_ioctl, .error = EINVAL});
    RUN_REFUSED(expect_no_sharing, &scratch, {.call = SYS_ioctl, .error = EXDEV});
    scratch_end(&scratch);
}
END_TEST

HR_SUITE("platform/folder_names", gives_a_file_a_second_name_and_replaces_nothing, puts_a_file_in_the_place_of_another,
         a_file_becomes_new_content_whole_or_stays, tells_whether_a_filesystem_has_links_and_leaves_nothing_there,
         says_where_blocks_cannot_be_shared)
