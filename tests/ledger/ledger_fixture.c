/* SPDX-License-Identifier: ISC */
#include "ledger_fixture.h"

#include <ftw.h>
#include <stdio.h>
#include <string.h>

#include <sqlite3.h>

#include "suite.h"

void fixture_init(struct fixture *fixture)
{
    const char *temporary = getenv("TMPDIR");
    snprintf(fixture->folder, sizeof fixture->folder, "%s/ledgerXXXXXX", temporary && *temporary ? temporary : ".");
    ck_assert_ptr_nonnull(mkdtemp(fixture->folder));
    ck_assert_int_lt(snprintf(fixture->path, sizeof fixture->path, "%s/state/ledger.db", fixture->folder),
                     FIXTURE_PATH_SIZE);
    ck_assert_int_lt(snprintf(fixture->log, sizeof fixture->log, "%s-wal", fixture->path), FIXTURE_PATH_SIZE);
}

static int remove_one(const char *path, const struct stat *stat, int type, struct FTW *place)
{
    (void)stat, (void)type, (void)place;
    return remove(path);
}

void fixture_finish(struct fixture *fixture)
{
    ck_assert_int_eq(nftw(fixture->folder, remove_one, 16, FTW_DEPTH | FTW_PHYS), 0);
}

struct hr_ledger *fixture_open(const struct fixture *fixture)
{
    struct hr_ledger *ledger = NULL;
    struct hr_fault fault = {0};
    ck_assert_msg(hr_ledger_open(&ledger, fixture->path, &fault) == HR_OK, "%s", fault.text);
    return ledger;
}

int64_t fixture_add_bag(struct hr_ledger *ledger, const char *volume)
{
    struct hr_ledger_bag bag = {"card A", "A", "Cup final", volume, "disk 1\ndisk 2", "/media/ssd", "Cup final/bag"};
    struct hr_fault fault = {0};
    int64_t id = 0;
    ck_assert_msg(hr_ledger_add_bag(&id, ledger, &bag, &fault) == HR_OK, "%s", fault.text);
    return id;
}

void fixture_add_copy(struct hr_ledger *ledger, const struct hr_ledger_file *file, int64_t bag, int64_t proven_at_ns)
{
    struct hr_fault fault = {0};
    struct hr_ledger_copy copy = {.bag = bag, .proof = HR_PROOF_DIRECT, .proven_at_ns = proven_at_ns};
    ck_assert_msg(hr_ledger_add_copy(ledger, file, &copy, &fault) == HR_OK, "%s", fault.text);
}

struct hr_ledger_file frame(char path[32], unsigned number, unsigned content)
{
    snprintf(path, 32, "DCIM/100NORTH/A__%05u.JPG", number % 100000);
    struct hr_ledger_file file = {.card_identity = "card A",
                                  .path = path,
                                  .size_bytes = 8000000 + number,
                                  .modified_ns = 1700000000000000000 + number,
                                  .xxh128 = {.kind = HR_DIGEST_XXH128, .size = 16},
                                  .sha256 = {.kind = HR_DIGEST_SHA256, .size = 32}};
    memcpy(file.xxh128.bytes + 4, &content, sizeof content);
    memcpy(file.sha256.bytes + 8, &content, sizeof content);
    return file;
}

static bool note(void *context, const struct hr_ledger_copy *copy, const char *path)
{
    struct told *told = context;
    ck_assert_uint_lt(told->count, 8);
    told->bags[told->count] = copy->bag;
    told->proven_at_ns[told->count++] = copy->proven_at_ns;
    told->proof = copy->proof;
    snprintf(told->path, sizeof told->path, "%s", path);
    return true;
}

static bool note_exact(void *context, const struct hr_ledger_copy *copy)
{
    return note(context, copy, "");
}

struct told find_copies(struct hr_ledger *ledger, const struct hr_ledger_file *file)
{
    struct told told = {0};
    told.status = hr_ledger_find_copies(ledger, file, &told.digests, note_exact, &told, NULL);
    return told;
}

struct told find_content(struct hr_ledger *ledger, const struct hr_ledger_file *file)
{
    struct told told = {0};
    told.status = hr_ledger_find_content(ledger, file->size_bytes, &file->xxh128, note, &told, NULL);
    return told;
}

struct told find_namesakes(struct hr_ledger *ledger, const struct hr_ledger_file *file)
{
    struct told told = {0};
    told.status = hr_ledger_find_namesakes(ledger, file, note, &told, NULL);
    return told;
}

static sqlite3 *open_behind(const struct fixture *fixture)
{
    sqlite3 *database = NULL;
    ck_assert_int_eq(sqlite3_open_v2(fixture->path, &database, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    return database;
}

void fixture_sql(const struct fixture *fixture, const char *sql)
{
    sqlite3 *database = open_behind(fixture);
    ck_assert_msg(sqlite3_exec(database, sql, NULL, NULL, NULL) == SQLITE_OK, "%s", sqlite3_errmsg(database));
    sqlite3_close(database);
}

int64_t fixture_number(const struct fixture *fixture, const char *sql)
{
    sqlite3 *database = open_behind(fixture);
    sqlite3_stmt *statement = NULL;
    ck_assert_int_eq(sqlite3_prepare_v2(database, sql, -1, &statement, NULL), SQLITE_OK);
    ck_assert_int_eq(sqlite3_step(statement), SQLITE_ROW);
    int64_t number = sqlite3_column_int64(statement, 0);
    sqlite3_finalize(statement);
    sqlite3_close(database);
    return number;
}
