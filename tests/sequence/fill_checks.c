/* SPDX-License-Identifier: ISC */
#include "fill_checks.h"

#include <check.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

struct stage *begin(struct scratch *scratch)
{
    scratch_begin(scratch);
    struct stage *stage = stage_create(JOB);
    stage_place(stage, scratch->path);
    return stage;
}

void end(struct scratch *scratch, struct stage *stage)
{
    stage_destroy(stage);
    scratch_end(scratch);
}

struct hr_filled *fill(const struct stage *stage, enum hr_fill way)
{
    const struct hr_fill_options options = {.fill = way};
    struct hr_filled *filled = NULL;
    struct hr_fault fault = {0};
    enum hr_status status = hr_sequences_fill(&filled, &stage->delivered, &stage->grouping, &options, NULL, &fault);
    ck_assert_msg(status == HR_OK, "%s", fault.text);
    return filled;
}

void fill_and_forget(const struct stage *stage, enum hr_fill way)
{
    hr_filled_destroy(fill(stage, way));
}

bool stands(const struct scratch *scratch, const char *name)
{
    return access(scratch_path(scratch, name), F_OK) == 0;
}

ino_t inode_of(const struct scratch *scratch, const char *name)
{
    struct stat facts;
    ck_assert_msg(stat(scratch_path(scratch, name), &facts) == 0, "%s", name);
    return facts.st_ino;
}

size_t entries_in(const struct scratch *scratch, const char *name)
{
    struct hr_entry *entries = NULL;
    size_t count = 0;
    ck_assert_int_eq(hr__folder_list(&entries, &count, &scratch->folder, name, 100000, NULL), HR_OK);
    hr__entries_free(entries, count);
    return count;
}

char *content_of(const struct scratch *scratch, const char *name)
{
    char *bytes = NULL;
    size_t size = 0;
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch->folder, name, 1 << 24, name, NULL), HR_OK);
    return bytes;
}

void expect_content(const struct scratch *scratch, const char *name, const char *expected)
{
    char *bytes = content_of(scratch, name);
    ck_assert_str_eq(bytes, expected);
    free(bytes);
}
