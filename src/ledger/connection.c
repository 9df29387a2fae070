/* SPDX-License-Identifier: ISC */
#include "ledger/connection.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "ledger/handle.h"
#include "ledger/ledger_fault.h"
#include "platform/clock.h"
#include "platform/folder.h"

enum {
    BUSY_TIMEOUT_MS = 5000,
    ENTRY_CEILING_BYTES = 1 << 20,
    PATH_CEILING_BYTES = 1 << 16,
    LOCK_POLL_NS = 10 * 1000 * 1000
};

/* FULL, because what verify forgets must not come back after a power cut: a copy known to be broken would count again.
 * A commit costs one sync of the log; callers group what they note. The cache holds the inner pages of every index of a
 * million files. */
static const char settings[] = "PRAGMA synchronous = FULL; PRAGMA cell_size_check = ON; PRAGMA cache_size = -16384;";

/* RFC 3986: all but the unreserved characters and the slash are escaped, so no name can be taken for a parameter. */
static char *uri_of_path(const char *path, const char *parameters)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/";
    struct hr_text uri;
    hr__text_init(&uri, PATH_CEILING_BYTES);
    hr__text_append(&uri, *path == '/' ? "file://" : "file:");
    for (const char *at = path; *at; at++)
        if (strchr(plain, *at))
            hr__text_append_bytes(&uri, at, 1);
        else
            hr__text_printf(&uri, "%%%02X", (unsigned char)*at);
    hr__text_append(&uri, parameters);
    return hr__text_take(&uri);
}

static int harden(sqlite3 *database)
{
    static const int switches[][2] = {
        {SQLITE_DBCONFIG_DEFENSIVE, 1}, {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0}, {SQLITE_DBCONFIG_DQS_DML, 0},
        {SQLITE_DBCONFIG_DQS_DDL, 0},   {SQLITE_DBCONFIG_ENABLE_FKEY, 1},
    };
    int code = sqlite3_extended_result_codes(database, 1);
    for (size_t i = 0; code == SQLITE_OK && i < sizeof switches / sizeof *switches; i++)
        code = sqlite3_db_config(database, switches[i][0], switches[i][1], NULL);
    sqlite3_limit(database, SQLITE_LIMIT_LENGTH, ENTRY_CEILING_BYTES);
    return code == SQLITE_OK ? sqlite3_busy_timeout(database, BUSY_TIMEOUT_MS) : code;
}

/* The settings are the first to read the file, so they tell whether it can be read at all. */
static int connect(struct hr_ledger *ledger, int flags, const char *parameters, const char *first)
{
    char *uri = uri_of_path(ledger->path, parameters);
    if (!uri)
        return SQLITE_NOMEM;
    int code = sqlite3_open_v2(uri, &ledger->database, flags | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX, NULL);
    free(uri);
    if (code != SQLITE_OK)
        return ledger->database ? sqlite3_extended_errcode(ledger->database) : SQLITE_NOMEM;
    if ((flags & SQLITE_OPEN_READWRITE) && sqlite3_db_readonly(ledger->database, "main"))
        return SQLITE_READONLY;
    code = harden(ledger->database);
    return code == SQLITE_OK ? sqlite3_exec(ledger->database, first, NULL, NULL, NULL) : code;
}

void hr__connection_close(struct hr_ledger *ledger)
{
    for (size_t i = 0; i < HR_SQL_COUNT; i++) {
        sqlite3_finalize(ledger->statements[i]);
        ledger->statements[i] = NULL;
    }
    sqlite3_close(ledger->database);
    ledger->database = NULL;
}

static enum hr_status conclude(struct hr_ledger *ledger, int code, struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_fault(ledger, code, fault);
    if (status != HR_OK)
        hr__connection_close(ledger);
    return status;
}

static bool lacks_shared_memory(int code)
{
    return code == SQLITE_IOERR_SHMOPEN || code == SQLITE_IOERR_SHMMAP || code == SQLITE_IOERR_SHMLOCK;
}

/* WAL without shared memory works for one connection that lets nobody else in: long enough to leave the mode. */
static int reconnect_without_wal(struct hr_ledger *ledger)
{
    hr__connection_close(ledger);
    int code =
        connect(ledger, SQLITE_OPEN_READWRITE, "", "PRAGMA locking_mode = EXCLUSIVE; PRAGMA journal_mode = DELETE;");
    hr__connection_close(ledger);
    return code == SQLITE_OK ? connect(ledger, SQLITE_OPEN_READWRITE, "", settings) : code;
}

static enum hr_status make_folder(const char *path, struct hr_fault *fault)
{
    char *folder = strndup(path, hr__path_folder_length(path));
    if (!folder)
        return hr__fault_nomem(fault, "the path of the ledger");
    enum hr_status status = *folder ? hr__folder_make_path(folder, fault) : HR_OK;
    free(folder);
    return status;
}

enum hr_status hr__connection_open(struct hr_ledger *ledger, struct hr_fault *fault)
{
    enum hr_status status = make_folder(ledger->path, fault);
    if (status != HR_OK)
        return status;
    int code = connect(ledger, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, "", settings);
    if (lacks_shared_memory(code))
        code = reconnect_without_wal(ledger);
    return conclude(ledger, code, fault);
}

enum hr_status hr__connection_use_wal(struct hr_ledger *ledger, struct hr_fault *fault)
{
    int64_t until_ns = hr__clock_now_ns() + BUSY_TIMEOUT_MS * (HR_NS_PER_S / 1000);
    /* SQLite itself does not wait for others here. */
    while ((sqlite3_exec(ledger->database, "PRAGMA journal_mode = WAL", NULL, NULL, NULL) & 0xFF) == SQLITE_BUSY &&
           hr__clock_now_ns() < until_ns)
        hr__clock_sleep_ns(LOCK_POLL_NS);
    int code = sqlite3_exec(ledger->database, "SELECT count(*) FROM sqlite_schema", NULL, NULL, NULL);
    if (lacks_shared_memory(code))
        code = reconnect_without_wal(ledger);
    return hr__ledger_fault(ledger, code, fault);
}

/* The facts of the ledger's file, or of the one beside it that SQLite names with `suffix`. */
static enum hr_status look_at(struct hr_file_facts *out, const char *path, const char *suffix, struct hr_fault *fault)
{
    const char *name = hr__path_last(path);
    struct hr_folder here = HR_FOLDER_CLOSED;
    struct hr_text file;
    hr__text_init(&file, PATH_CEILING_BYTES);
    hr__text_append(&file, name);
    hr__text_append(&file, suffix);
    char *folder = name == path ? strdup(".") : strndup(path, (size_t)(name - path));
    enum hr_status status = !folder || file.broken ? hr__fault_nomem(fault, "the path of the ledger")
                                                   : hr__folder_open(&here, folder, fault);
    if (status == HR_OK)
        status = hr__folder_facts(out, &here, file.bytes, fault);
    hr__folder_close(&here);
    free(folder);
    hr__text_finish(&file);
    return status;
}

static bool is_absent_or_empty(const char *path, const char *suffix)
{
    struct hr_file_facts facts = {0};
    enum hr_status status = look_at(&facts, path, suffix, NULL);
    return status == HR_NOT_FOUND || (status == HR_OK && facts.size_bytes == 0);
}

/* A ledger in WAL mode needs a second file beside it, even to be read. Where that cannot be made (read-only or full
 * volume, another's folder) it is read as a file that does not change: only when nothing waits to be applied to it. */
static bool may_be_taken_as_unchanging(const char *path, enum hr_status status)
{
    bool cannot_write = status == HR_DENIED || status == HR_READ_ONLY || status == HR_FULL || status == HR_IO;
    return cannot_write && is_absent_or_empty(path, "-wal") && is_absent_or_empty(path, "-journal");
}

/* Without WAL, what a run that was killed left half written must be taken back before anything is read, and only a
 * writer may do that. */
static int connect_to_read(struct hr_ledger *ledger)
{
    int code = connect(ledger, SQLITE_OPEN_READONLY, "", settings);
    if (code != SQLITE_READONLY_ROLLBACK)
        return code;
    hr__connection_close(ledger);
    bool was_taken_back = connect(ledger, SQLITE_OPEN_READWRITE, "", settings) == SQLITE_OK;
    hr__connection_close(ledger);
    return was_taken_back ? connect(ledger, SQLITE_OPEN_READONLY, "", settings) : code;
}

enum hr_status hr__connection_open_read_only(struct hr_ledger *ledger, struct hr_fault *fault)
{
    struct hr_file_facts facts;
    struct hr_fault first = {0};
    if (look_at(&facts, ledger->path, "", NULL) == HR_NOT_FOUND)
        return hr__ledger_says(ledger, HR_NOT_FOUND, "there is no ledger ",
                               ": an offload makes one, and `headrace verify PLACE` fills it", fault);
    enum hr_status status = conclude(ledger, connect_to_read(ledger), &first);
    if (may_be_taken_as_unchanging(ledger->path, status))
        status = conclude(ledger, connect(ledger, SQLITE_OPEN_READONLY, "?immutable=1", settings), NULL);
    return status == HR_OK ? HR_OK : hr__fault_set(fault, first.status, 0, "%s", first.text);
}
