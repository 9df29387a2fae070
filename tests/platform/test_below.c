/* SPDX-License-Identifier: ISC */
/* The walk that every path below a folder may have to take, asked directly: where one call does the same it is seldom
 * met. */
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include "platform/system.h"
#include "platform_fixture.h"
#include "suite.h"

enum { FOLDER_FLAGS = O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC };

/* The lowest free descriptor: what is left open shows in it. */
static int next_descriptor(void)
{
    int descriptor = dup(STDOUT_FILENO);
    close(descriptor);
    return descriptor;
}

static void make_tree(struct scratch *scratch)
{
    scratch_begin(scratch);
    scratch_write_text(scratch, "a/b/file", "x");
    ck_assert_int_eq(symlink("b", scratch_path(scratch, "a/link")), 0);
    ck_assert_int_eq(symlink("file", scratch_path(scratch, "a/b/link")), 0);
}

START_TEST(walks_to_what_stands_and_leaves_nothing_open)
{
    static const struct {
        const char *path;
        int flags, error;
    } rows[] = {
        {"a/b/file", O_RDONLY | O_NOFOLLOW, 0},
        {"a/b", FOLDER_FLAGS, 0},
        {".", FOLDER_FLAGS, 0},
        {"a/b/none", O_RDONLY | O_NOFOLLOW, ENOENT},
        {"none/b/file", O_RDONLY | O_NOFOLLOW, ENOENT},
        {"a/b/file/x", O_RDONLY | O_NOFOLLOW, ENOTDIR},
        {"a/b/file", FOLDER_FLAGS, ENOTDIR},
        {"a/link/file", O_RDONLY | O_NOFOLLOW, ELOOP},
        {"a/b/link", O_RDONLY | O_NOFOLLOW, ELOOP},
        {"a/link", FOLDER_FLAGS, ELOOP},
        {"a/b/new", O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW, 0},
        {"a/b/new", O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW, EEXIST},
    };
    struct scratch scratch;
    make_tree(&scratch);
    int next = next_descriptor();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int descriptor = -1;
        int error = hr__below_walk(&descriptor, scratch.folder.descriptor, rows[i].path, rows[i].flags, 0666);
        ck_assert_msg(error == rows[i].error, "row %zu: %s", i, strerror(error));
        if (!error) {
            ck_assert_msg(descriptor == next || strchr(rows[i].path, '/'), "row %zu", i);
            close(descriptor);
        }
        ck_assert_msg(next_descriptor() == next, "row %zu", i);
    }
    scratch_end(&scratch);
}
END_TEST

/* Both ways must say the same of the same path. */
START_TEST(says_of_a_path_what_the_one_call_says)
{
    static const char *const paths[] = {"a/b/file", "a/b/none", "none/b", "a/b/file/x", "a/link/file", "a/b/link"};
    struct scratch scratch;
    make_tree(&scratch);
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        int walked = -1, opened = -1, folder = scratch.folder.descriptor;
        int error = hr__below_walk(&walked, folder, paths[i], O_RDONLY | O_NOFOLLOW | O_CLOEXEC, 0);
        ck_assert_msg(hr__below_open(&opened, folder, paths[i], O_RDONLY, 0) == error, "%s", paths[i]);
        ck_assert_int_eq(walked >= 0, opened >= 0);
        if (!error) {
            ck_assert_int_eq(fcntl(opened, F_GETFD), FD_CLOEXEC);
            close(walked);
            close(opened);
        }
    }
    scratch_end(&scratch);
}
END_TEST

START_TEST(opens_no_path_that_could_leave_the_folder)
{
    static const char *const paths[] = {"..", "a/../b", "/etc", "a//b", "a/", "./a", "a/."};
    struct scratch scratch;
    struct hr_below below;
    int descriptor = -1;
    make_tree(&scratch);
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        int error = hr__below_open(&descriptor, scratch.folder.descriptor, paths[i], O_RDONLY, 0);
        ck_assert_msg(error == EINVAL && descriptor == -1, "%s", paths[i]);
        ck_assert_msg(hr__below_find(&below, scratch.folder.descriptor, paths[i]) == EINVAL, "%s", paths[i]);
        hr__below_release(&below);
    }
    scratch_end(&scratch);
}
END_TEST

START_TEST(finds_where_the_last_component_stands)
{
    struct scratch scratch;
    struct hr_below below;
    make_tree(&scratch);
    int next = next_descriptor();
    ck_assert_int_eq(hr__below_find(&below, scratch.folder.descriptor, "a/b/new"), 0);
    ck_assert_str_eq(below.name, "new");
    ck_assert_int_eq(faccessat(below.folder, "file", F_OK, 0), 0);
    hr__below_release(&below);
    ck_assert_int_eq(next_descriptor(), next);
    ck_assert_int_eq(hr__below_find(&below, scratch.folder.descriptor, "new"), 0);
    ck_assert_int_eq(below.folder, scratch.folder.descriptor);
    hr__below_release(&below);
    ck_assert_int_eq(hr__below_find(&below, scratch.folder.descriptor, "a"), 0);
    hr__below_release(&below);
    ck_assert_int_eq(hr__below_find(&below, scratch.folder.descriptor, "a/link/new"), ELOOP);
    hr__below_release(&below);
    ck_assert_int_eq(hr__below_find(&below, scratch.folder.descriptor, "none/new"), ENOENT);
    hr__below_release(&below);
    ck_assert_int_eq(next_descriptor(), next);
    scratch_end(&scratch);
}
END_TEST

HR_SUITE("platform/below", walks_to_what_stands_and_leaves_nothing_open, says_of_a_path_what_the_one_call_says,
         opens_no_path_that_could_leave_the_folder, finds_where_the_last_component_stands)
