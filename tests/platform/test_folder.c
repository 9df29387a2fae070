/* SPDX-License-Identifier: ISC */
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "platform/folder.h"
#include "platform_fixture.h"
#include "suite.h"

START_TEST(makes_folders_of_any_depth_once)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    struct hr_file_facts facts;
    for (int i = 0; i < 2; i++)
        ck_assert_int_eq(hr__folder_make(&scratch.folder, "a/b/c", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_facts(&facts, &scratch.folder, "a/b/c", NULL), HR_OK);
    ck_assert(facts.is_folder);
    ck_assert_int_eq(hr__folder_make(&scratch.folder, "a/b/d/e", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_make_new(&scratch.folder, "a/b/d/e", NULL), HR_EXISTS);
    ck_assert_int_eq(hr__folder_make_new(&scratch.folder, "a/b/d/f", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_make_new(&scratch.folder, "none/f", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_make(&scratch.folder, "a/../x", NULL), HR_INVALID);
    scratch_write_text(&scratch, "file", "");
    ck_assert_int_ne(hr__folder_make(&scratch.folder, "file/x", NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

START_TEST(makes_no_folder_through_a_link)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    ck_assert_int_eq(mkdir(scratch_path(&scratch, "real"), 0777), 0);
    ck_assert_int_eq(symlink("real", scratch_path(&scratch, "link")), 0);
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__folder_make(&scratch.folder, "link/a/b", &fault), HR_UNSUPPORTED);
    ck_assert_ptr_nonnull(strstr(fault.text, "link/a/b"));
    ck_assert_int_eq(hr__folder_make_new(&scratch.folder, "link/a", NULL), HR_UNSUPPORTED);
    ck_assert_int_eq(access(scratch_path(&scratch, "real/a"), F_OK), -1);
    struct hr_folder below;
    ck_assert_int_eq(hr__folder_open_below(&below, &scratch.folder, "link", NULL), HR_UNSUPPORTED);
    ck_assert_int_eq(below.descriptor, -1);
    scratch_end(&scratch);
}
END_TEST

START_TEST(makes_a_users_path_through_links)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    char path[1024];
    ck_assert_int_eq(mkdir(scratch_path(&scratch, "real"), 0777), 0);
    ck_assert_int_eq(symlink("real", scratch_path(&scratch, "link")), 0);
    snprintf(path, sizeof path, "%s", scratch_path(&scratch, "link/a/b/"));
    for (int i = 0; i < 2; i++)
        ck_assert_int_eq(hr__folder_make_path(path, NULL), HR_OK);
    ck_assert_int_eq(access(scratch_path(&scratch, "real/a/b"), F_OK), 0);
    ck_assert_int_eq(hr__folder_make_path("/", NULL), HR_OK);
    scratch_write_text(&scratch, "file", "");
    ck_assert_int_ne(hr__folder_make_path(scratch_path(&scratch, "file/a"), NULL), HR_OK);
    ck_assert_int_eq(hr__folder_make_path(scratch_path(&scratch, "file"), NULL), HR_EXISTS);
    scratch_end(&scratch);
}
END_TEST

START_TEST(opens_folders_and_nothing_else)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a/file", "");
    struct hr_folder folder;
    ck_assert_int_eq(hr__folder_open(&folder, scratch_path(&scratch, "none"), NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_open(&folder, scratch_path(&scratch, "a/file"), NULL), HR_INVALID);
    ck_assert_int_eq(folder.descriptor, -1);
    ck_assert_int_eq(hr__folder_open_below(&folder, &scratch.folder, "a", NULL), HR_OK);
    ck_assert_str_eq(folder.path, scratch_path(&scratch, "a"));
    hr__folder_close(&folder);
    ck_assert_int_eq(hr__folder_open_below(&folder, &scratch.folder, "", NULL), HR_OK);
    hr__folder_close(&folder);
    hr__folder_close(&folder);
    ck_assert_int_eq(hr__folder_open_below(&folder, &scratch.folder, "a/file", NULL), HR_INVALID);
    ck_assert_int_eq(hr__folder_open_below(&folder, &scratch.folder, "..", NULL), HR_INVALID);
    scratch_end(&scratch);
}
END_TEST

START_TEST(renames_without_replacing)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a/.x.part", "new");
    scratch_write_text(&scratch, "b/x", "old");
    ck_assert_int_eq(symlink("nowhere", scratch_path(&scratch, "b/link")), 0);
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, "a/.x.part", "b/x", &fault), HR_EXISTS);
    ck_assert_ptr_nonnull(strstr(fault.text, "b/x"));
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, "a/.x.part", "b/link", NULL), HR_EXISTS);
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, "a/none", "b/y", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, "a/.x.part", "none/y", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, "a/.x.part", "../y", NULL), HR_INVALID);
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, "a/.x.part", "a/x", NULL), HR_OK);
    ck_assert_int_eq(access(scratch_path(&scratch, "a/.x.part"), F_OK), -1);
    char *bytes = NULL;
    size_t size = 0;
    ck_assert_int_eq(hr__file_load(&bytes, &size, &scratch.folder, "b/x", 10, "b/x", NULL), HR_OK);
    ck_assert_str_eq(bytes, "old");
    free(bytes);
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, "a", "c", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, "c", "b", NULL), HR_EXISTS);
    scratch_end(&scratch);
}
END_TEST

START_TEST(removes_files_links_and_empty_folders)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a/file", "");
    ck_assert_int_eq(symlink("a", scratch_path(&scratch, "link")), 0);
    ck_assert_int_eq(hr__folder_remove(&scratch.folder, "link/file", NULL), HR_UNSUPPORTED);
    ck_assert_int_eq(hr__folder_remove(&scratch.folder, "link", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_remove(&scratch.folder, "a", NULL), HR_EXISTS);
    ck_assert_int_eq(hr__folder_remove(&scratch.folder, "a/file", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_remove(&scratch.folder, "a", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_remove(&scratch.folder, "a", NULL), HR_NOT_FOUND);
    scratch_end(&scratch);
}
END_TEST

START_TEST(lists_entries_by_their_bytes)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "l/b", "12");
    scratch_write_text(&scratch, "l/B", "");
    scratch_write_text(&scratch, "l/\xFF\n", "");
    ck_assert_int_eq(mkdir(scratch_path(&scratch, "l/c"), 0777), 0);
    ck_assert_int_eq(symlink("b", scratch_path(&scratch, "l/a")), 0);
    ck_assert_int_eq(mkfifo(scratch_path(&scratch, "l/d"), 0666), 0);
    static const struct {
        const char *name;
        enum hr_entry_kind kind;
    } rows[] = {{"B", HR_ENTRY_FILE},   {"a", HR_ENTRY_LINK},  {"b", HR_ENTRY_FILE},
                {"c", HR_ENTRY_FOLDER}, {"d", HR_ENTRY_OTHER}, {"\xFF\n", HR_ENTRY_FILE}};
    struct hr_entry *entries = NULL;
    size_t count = 0;
    ck_assert_int_eq(hr__folder_list(&entries, &count, &scratch.folder, "l", 6, NULL), HR_OK);
    ck_assert_uint_eq(count, 6);
    for (size_t i = 0; i < count; i++) {
        ck_assert_str_eq(entries[i].name, rows[i].name);
        ck_assert_int_eq(entries[i].kind, rows[i].kind);
        ck_assert_int_eq(entries[i].status, HR_OK);
    }
    ck_assert_uint_eq(entries[2].facts.size_bytes, 2);
    hr__entries_free(entries, count);
    ck_assert_int_eq(hr__folder_list(&entries, &count, &scratch.folder, "l", 5, NULL), HR_TOO_LARGE);
    ck_assert_int_eq(hr__folder_list(&entries, &count, &scratch.folder, "l/b", 5, NULL), HR_INVALID);
    ck_assert_int_eq(hr__folder_list(&entries, &count, &scratch.folder, "l/c", 5, NULL), HR_OK);
    ck_assert_uint_eq(count, 0);
    hr__entries_free(entries, count);
    scratch_end(&scratch);
}
END_TEST

START_TEST(reaches_paths_longer_than_the_system_takes_at_once)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    enum { COMPONENT = 200, DEPTH = 30 };
    char path[(COMPONENT + 1) * DEPTH + 8] = "";
    for (int i = 0; i < DEPTH; i++) {
        size_t at = strlen(path);
        memset(path + at, 'a' + i % 26, COMPONENT);
        memcpy(path + at + COMPONENT, "/", 2);
    }
    size_t folder_size = strlen(path) - 1;
    ck_assert_uint_gt(folder_size, PATH_MAX);
    path[folder_size] = '\0';
    ck_assert_int_eq(hr__folder_make(&scratch.folder, path, NULL), HR_OK);
    memcpy(path + folder_size, "/x", 3);
    struct hr_file file;
    struct hr_file_facts facts;
    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, path, HR_FILE_CREATE, false, "x", NULL), HR_OK);
    ck_assert_int_eq(hr__file_write_at(&file, "deep", 4, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_facts(&facts, &scratch.folder, path, NULL), HR_OK);
    ck_assert_uint_eq(facts.size_bytes, 4);
    char moved[sizeof path];
    memcpy(moved, path, sizeof moved);
    moved[folder_size + 1] = 'y';
    ck_assert_int_eq(hr__folder_rename(&scratch.folder, path, moved, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_remove(&scratch.folder, moved, NULL), HR_OK);
    for (int i = DEPTH; i > 0; i--) {
        path[i * (COMPONENT + 1) - 1] = '\0';
        ck_assert_int_eq(hr__folder_remove(&scratch.folder, path, NULL), HR_OK);
    }
    scratch_end(&scratch);
}
END_TEST

START_TEST(refuses_a_name_too_long_for_the_volume)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    char name[1024];
    memset(name, 'n', sizeof name);
    name[sizeof name - 1] = '\0';
    struct hr_file file;
    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, name, HR_FILE_CREATE, false, "n", NULL), HR_TOO_LARGE);
    name[255] = '\0';
    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, name, HR_FILE_CREATE, false, "n", NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

START_TEST(makes_folders_and_volumes_durable)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a/file", "x");
    ck_assert_int_eq(hr__folder_sync(&scratch.folder, "a", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_sync(&scratch.folder, "", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_sync(&scratch.folder, "none", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_make(&scratch.folder, "a/b/c", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_sync_way(&scratch.folder, "a/b/c", NULL, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_sync_way(&scratch.folder, "", NULL, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_sync_way(&scratch.folder, "a/none", "a/b/c", NULL), HR_NOT_FOUND);
    struct hr_fault fault = {0};
    enum hr_status status = hr__folder_sync_volume(&scratch.folder, &fault);
    ck_assert(status == HR_OK || status == HR_UNSUPPORTED);
    ck_assert_int_eq(fault.status, HR_OK);
    scratch_end(&scratch);
}
END_TEST

START_TEST(makes_nothing_in_a_folder_that_is_gone)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    struct hr_folder folder;
    struct hr_file file;
    struct hr_file_facts facts;
    struct hr_entry *entries = NULL;
    size_t count = 1;
    ck_assert_int_eq(hr__folder_make(&scratch.folder, "a/b", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_open_below(&folder, &scratch.folder, "a/b", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_remove(&scratch.folder, "a/b", NULL), HR_OK);
    ck_assert_int_eq(hr__file_open(&file, &folder, "x", HR_FILE_CREATE, false, "x", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_make(&folder, "x/y", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_make_new(&folder, "x", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_facts(&facts, &folder, "x", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_rename(&folder, "x", "y", NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr__folder_list(&entries, &count, &folder, "", 10, NULL), HR_OK);
    ck_assert_uint_eq(count, 0);
    hr__entries_free(entries, count);
    /* One of its name made anew is another folder. */
    ck_assert_int_eq(hr__folder_make(&scratch.folder, "a/b", NULL), HR_OK);
    ck_assert_int_eq(hr__file_open(&file, &folder, "x", HR_FILE_CREATE, false, "x", NULL), HR_NOT_FOUND);
    hr__folder_close(&folder);
    scratch_end(&scratch);
}
END_TEST

START_TEST(resolves_links_of_a_users_path)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    ck_assert_int_eq(mkdir(scratch_path(&scratch, "real"), 0777), 0);
    ck_assert_int_eq(symlink("real", scratch_path(&scratch, "link")), 0);
    char *resolved = NULL;
    ck_assert_int_eq(hr__path_resolve(&resolved, scratch_path(&scratch, "link/.././link/"), NULL), HR_OK);
    ck_assert_str_eq(resolved, scratch_path(&scratch, "real"));
    free(resolved);
    ck_assert_int_eq(hr__path_resolve(&resolved, scratch_path(&scratch, "none"), NULL), HR_NOT_FOUND);
    scratch_end(&scratch);
}
END_TEST

START_TEST(lets_one_run_into_a_folder)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    struct hr_folder second;
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__folder_open(&second, scratch.path, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_lock(&scratch.folder, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_lock(&second, &fault), HR_BUSY);
    ck_assert_ptr_nonnull(strstr(fault.text, "another run"));
    hr__folder_close(&scratch.folder);
    ck_assert_int_eq(hr__folder_lock(&second, NULL), HR_OK);
    hr__folder_close(&second);
    scratch_end(&scratch);
}
END_TEST

START_TEST(frees_the_folder_of_a_run_that_died)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    pid_t child = fork();
    if (child == 0) {
        struct hr_folder folder;
        _exit(hr__folder_open(&folder, scratch.path, NULL) || hr__folder_lock(&folder, NULL));
    }
    int status = -1;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_int_eq(status, 0);
    ck_assert_int_eq(hr__folder_lock(&scratch.folder, NULL), HR_OK);
    scratch_end(&scratch);
}
END_TEST

HR_SUITE("platform/folder", makes_folders_of_any_depth_once, makes_no_folder_through_a_link,
         makes_a_users_path_through_links, opens_folders_and_nothing_else, renames_without_replacing,
         removes_files_links_and_empty_folders, lists_entries_by_their_bytes,
         reaches_paths_longer_than_the_system_takes_at_once, refuses_a_name_too_long_for_the_volume,
         makes_folders_and_volumes_durable, makes_nothing_in_a_folder_that_is_gone, resolves_links_of_a_users_path,
         lets_one_run_into_a_folder, frees_the_folder_of_a_run_that_died)
