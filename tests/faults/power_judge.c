/* SPDX-License-Identifier: ISC */
#include "power_judge.h"

#include <dirent.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <sqlite3.h>

#include "recorded_volume.h"

enum { FOLDERS_OPEN = 16 };

/* nftw hands nothing on. */
static struct judged judged;
static size_t top_length; /* of the folder that is walked, with its slash */

static unsigned char *read_file(const char *path, size_t size)
{
    unsigned char *bytes = malloc(size + 1);
    int file = open(path, O_RDONLY | O_CLOEXEC);
    if (!bytes || file < 0 || read(file, bytes, size) != (ssize_t)size)
        recorded_refuse("cannot read", path);
    close(file);
    return bytes;
}

static void walk(const char *folder, int (*meet)(const char *, const struct stat *, int, struct FTW *), int flags)
{
    top_length = strlen(folder) + 1;
    if (nftw(folder, meet, FOLDERS_OPEN, FTW_PHYS | flags) != 0)
        recorded_refuse("cannot walk", folder);
}

/* ---- The card ---- */

static int take_file(const char *path, const struct stat *facts, int kind, struct FTW *at)
{
    (void)at;
    if (kind != FTW_F)
        return 0;
    if (judged.file_count == JUDGED_FILES_MAX)
        recorded_refuse("too many files on the card", path);
    judged.files[judged.file_count++] = (struct judged_file){.path = strdup(path + top_length),
                                                             .bytes = read_file(path, (size_t)facts->st_size),
                                                             .size = (size_t)facts->st_size};
    return 0;
}

struct judged *judge_card(const char *card)
{
    walk(card, take_file, 0);
    return &judged;
}

/* ---- The place ---- */

static const char *last_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static bool is_part(const char *name)
{
    size_t length = strlen(name);
    return name[0] == '.' && length > 5 && !strcmp(name + length - 5, ".part");
}

static bool has_bytes(const struct judged_file *file, const char *path, size_t size)
{
    unsigned char *bytes = size == file->size ? read_file(path, size) : NULL;
    bool are_equal = bytes && memcmp(bytes, file->bytes, size) == 0;
    free(bytes);
    return are_equal;
}

static void tell(char text[JUDGED_TEXT], const char *path)
{
    if (!*text)
        snprintf(text, JUDGED_TEXT, "%s", path);
}

static void meet_in_bag(const char *path, const char *on_card, size_t size)
{
    for (size_t i = 0; i < judged.file_count; i++)
        if (!strcmp(judged.files[i].path, on_card) && has_bytes(&judged.files[i], path, size)) {
            judged.right_count += judged.files[i].in_bags++ == 0;
            return;
        }
    tell(judged.wrong, path);
}

/* "0012_NAME" */
static void meet_in_sequence(const char *path, const char *name, size_t size)
{
    for (size_t i = 0; i < judged.file_count; i++)
        if (!strcmp(last_of(judged.files[i].path), name) && has_bytes(&judged.files[i], path, size)) {
            judged.files[i].in_sequences++;
            return;
        }
    tell(judged.wrong, path);
}

static bool is_empty(const char *folder)
{
    size_t count = 0;
    DIR *entries = opendir(folder);
    while (entries && readdir(entries))
        count++;
    if (entries)
        closedir(entries);
    return count <= 2;
}

/* A folder that files left stays in its bag. */
static bool lies_about(const char *path, const char *in_data, bool is_folder)
{
    const char *name = last_of(path);
    size_t length = strlen(name);
    if (in_data)
        return is_part(name);
    return name[0] == '.' || (length > 6 && !strcmp(name + length - 6, ".aside")) || (is_folder && is_empty(path));
}

static int meet(const char *path, const struct stat *facts, int kind, struct FTW *at)
{
    if (at->level == 0)
        return 0;
    const char *in_data = strstr(path, "/data/"), *in_sequences = strstr(path, "/sequences/"), *name = last_of(path);
    const char *behind_number = name + strspn(name, "0123456789");
    if (lies_about(path, in_data, kind == FTW_D))
        tell(judged.lying, path);
    if (kind != FTW_F || is_part(name))
        return 0;
    if (in_data)
        meet_in_bag(path, in_data + strlen("/data/"), (size_t)facts->st_size);
    else if (in_sequences && behind_number > name && *behind_number == '_')
        meet_in_sequence(path, behind_number + 1, (size_t)facts->st_size);
    return 0;
}

void judge_look(struct judged *here, const char *place)
{
    here->wrong[0] = here->lying[0] = '\0';
    here->right_count = 0;
    for (size_t i = 0; i < here->file_count; i++)
        here->files[i].in_bags = here->files[i].in_sequences = 0;
    walk(place, meet, 0);
}

static int remove_entry(const char *path, const struct stat *facts, int kind, struct FTW *at)
{
    (void)facts, (void)kind;
    return at->level == 0 ? 0 : remove(path);
}

void judge_empty(const char *folder)
{
    walk(folder, remove_entry, FTW_DEPTH);
}

/* ---- The ledger ---- */

static sqlite3_stmt *ask(sqlite3 **database, const char *ledger, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    if (access(ledger, F_OK) != 0 || sqlite3_open_v2(ledger, database, SQLITE_OPEN_READWRITE, NULL) != SQLITE_OK ||
        sqlite3_prepare_v2(*database, sql, -1, &statement, NULL) != SQLITE_OK)
        return NULL;
    return statement;
}

/* A ledger that was not yet made has no table. */
size_t judge_memory(char gone[JUDGED_TEXT], const char *ledger)
{
    static const char sql[] = "SELECT CAST(mount_point || '/' || path_on_volume || '/data/' || folder || name AS TEXT)"
                              " FROM copy JOIN file ON file.id = copy.file JOIN bag ON bag.id = copy.bag";
    sqlite3 *database = NULL;
    sqlite3_stmt *copies = ask(&database, ledger, sql);
    size_t count = 0;
    gone[0] = '\0';
    for (; copies && sqlite3_step(copies) == SQLITE_ROW; count++) {
        const char *path = (const char *)sqlite3_column_text(copies, 0);
        if (access(path, F_OK) != 0)
            tell(gone, path);
    }
    sqlite3_finalize(copies);
    sqlite3_close(database);
    return count;
}

bool judge_ledger_is_sound(const char *ledger)
{
    sqlite3 *database = NULL;
    sqlite3_stmt *check = ask(&database, ledger, "PRAGMA integrity_check");
    bool is_sound =
        check && sqlite3_step(check) == SQLITE_ROW && !strcmp((const char *)sqlite3_column_text(check, 0), "ok");
    sqlite3_finalize(check);
    sqlite3_close(database);
    return is_sound;
}
