/* SPDX-License-Identifier: ISC */
#include "platform_fixture.h"

#include <check.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

void scratch_begin(struct scratch *scratch)
{
    const char *folder = getenv("TMPDIR");
    char path[256], resolved[4096];
    snprintf(path, sizeof path, "%s/headrace-platform-XXXXXX", folder && *folder ? folder : ".");
    ck_assert_ptr_nonnull(mkdtemp(path));
    ck_assert_ptr_nonnull(realpath(path, resolved));
    ck_assert_int_lt(snprintf(scratch->path, sizeof scratch->path, "%s", resolved), (int)sizeof scratch->path);
    ck_assert_int_eq(hr__folder_open(&scratch->folder, scratch->path, NULL), HR_OK);
}

static int remove_one(const char *path, const struct stat *facts, int type, struct FTW *place)
{
    (void)facts, (void)type, (void)place;
    return remove(path);
}

void scratch_end(struct scratch *scratch)
{
    hr__folder_close(&scratch->folder);
    ck_assert_int_eq(nftw(scratch->path, remove_one, 16, FTW_DEPTH | FTW_PHYS), 0);
}

const char *scratch_path(const struct scratch *scratch, const char *name)
{
    static char path[8192];
    snprintf(path, sizeof path, "%s/%s", scratch->path, name);
    return path;
}

void scratch_write(struct scratch *scratch, const char *name, const void *bytes, size_t size)
{
    char path[8192];
    snprintf(path, sizeof path, "%s", scratch_path(scratch, name));
    for (char *slash = path + strlen(scratch->path) + 1; (slash = strchr(slash, '/')); slash++) {
        *slash = '\0';
        mkdir(path, 0777);
        *slash = '/';
    }
    int descriptor = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666);
    ck_assert_msg(descriptor >= 0, "%s", path);
    ck_assert_int_eq(write(descriptor, bytes, size), (ssize_t)size);
    close(descriptor);
}

void scratch_write_text(struct scratch *scratch, const char *name, const char *text)
{
    scratch_write(scratch, name, text, strlen(text));
}
