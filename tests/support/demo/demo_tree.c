/* SPDX-License-Identifier: ISC */
#include "demo_tree.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "demo_fail.h"

static void full_path(char full[DEMO_PATH_SIZE], const struct demo_tree *tree, const char *path)
{
    if (snprintf(full, DEMO_PATH_SIZE, "%s/%s", tree->root, path) >= DEMO_PATH_SIZE)
        demo_fail("path is too long: %s", path);
}

void demo_tree_make_folder(const struct demo_tree *tree, const char *path)
{
    char full[DEMO_PATH_SIZE];
    full_path(full, tree, path);
    if (mkdir(full, 0777) && errno != EEXIST)
        demo_fail_errno("cannot make", full);
}

static struct timespec file_time(const struct demo_tree *tree, int64_t time_ns)
{
    int64_t step_ns = tree->fat_times ? INT64_C(2000000000) : 1;
    time_ns -= time_ns % step_ns;
    return (struct timespec){.tv_sec = time_ns / 1000000000, .tv_nsec = time_ns % 1000000000};
}

static void write_all(int file, const struct demo_bytes *bytes, const char *path)
{
    for (size_t done = 0; done < bytes->size;) {
        ssize_t wrote = write(file, bytes->data + done, bytes->size - done);
        if (wrote < 0 && errno != EINTR)
            demo_fail_errno("cannot write", path);
        done += wrote > 0 ? (size_t)wrote : 0;
    }
}

void demo_tree_write(const struct demo_tree *tree, const char *path, const struct demo_bytes *bytes, int64_t time_ns)
{
    char full[DEMO_PATH_SIZE];
    full_path(full, tree, path);
    if (unlink(full) && errno != ENOENT)
        demo_fail_errno("cannot replace", full);
    int file = open(full, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file < 0)
        demo_fail_errno("cannot make", full);
    write_all(file, bytes, full);
    const struct timespec times[2] = {file_time(tree, time_ns), file_time(tree, time_ns)};
    if (futimens(file, times) || close(file))
        demo_fail_errno("cannot write", full);
}

bool demo_tree_protect(const struct demo_tree *tree, const char *path)
{
    char full[DEMO_PATH_SIZE];
    struct stat found;
    full_path(full, tree, path);
    return chmod(full, 0444) == 0 && stat(full, &found) == 0 && (found.st_mode & 0222) == 0;
}
