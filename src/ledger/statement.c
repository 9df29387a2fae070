/* SPDX-License-Identifier: ISC */
#include "ledger/statement.h"

#include <string.h>

#include "base/path.h"
#include "ledger/handle.h"
#include "ledger/ledger_fault.h"

struct hr_statement hr__statement_start(struct hr_ledger *ledger, enum hr_sql slot, const char *sql)
{
    struct hr_statement statement = {.ledger = ledger};
    if (!ledger->statements[slot])
        statement.code =
            sqlite3_prepare_v3(ledger->database, sql, -1, SQLITE_PREPARE_PERSISTENT, &ledger->statements[slot], NULL);
    statement.prepared = ledger->statements[slot];
    return statement;
}

enum hr_status hr__statement_finish(struct hr_statement *statement, struct hr_fault *fault)
{
    /* Before the reset, while SQLite still knows the system's error. */
    enum hr_status status = hr__ledger_fault(statement->ledger, statement->code, fault);
    if (statement->prepared) {
        sqlite3_reset(statement->prepared);
        sqlite3_clear_bindings(statement->prepared);
    }
    return status;
}

enum hr_status hr__statement_run(struct hr_statement *statement, struct hr_fault *fault)
{
    while (hr__statement_row(statement))
        ;
    return hr__statement_finish(statement, fault);
}

void hr__statement_bind_sized(struct hr_statement *statement, const void *bytes, size_t size)
{
    if (statement->code == SQLITE_OK)
        statement->code = sqlite3_bind_blob64(statement->prepared, ++statement->bound, bytes, size, SQLITE_STATIC);
}

void hr__statement_bind_bytes(struct hr_statement *statement, const char *string)
{
    hr__statement_bind_sized(statement, string ? string : "", string ? strlen(string) : 0);
}

void hr__statement_bind_bytes_or_null(struct hr_statement *statement, const char *string)
{
    hr__statement_bind_sized(statement, string, string ? strlen(string) : 0);
}

void hr__statement_bind_word(struct hr_statement *statement, const char *word)
{
    if (statement->code == SQLITE_OK)
        statement->code =
            sqlite3_bind_text(statement->prepared, ++statement->bound, word ? word : "", -1, SQLITE_STATIC);
}

void hr__statement_bind_number(struct hr_statement *statement, int64_t number)
{
    if (statement->code == SQLITE_OK)
        statement->code = sqlite3_bind_int64(statement->prepared, ++statement->bound, number);
}

void hr__statement_bind_count(struct hr_statement *statement, uint64_t count)
{
    hr__statement_bind_number(statement, (int64_t)count);
}

void hr__statement_bind_limit(struct hr_statement *statement, size_t limit)
{
    hr__statement_bind_number(statement, limit > INT64_MAX ? INT64_MAX : (int64_t)limit);
}

void hr__statement_bind_real(struct hr_statement *statement, double real)
{
    if (statement->code == SQLITE_OK)
        statement->code = sqlite3_bind_double(statement->prepared, ++statement->bound, real);
}

void hr__statement_bind_digest(struct hr_statement *statement, const struct hr_digest *digest)
{
    bool is_none = digest->kind == HR_DIGEST_NONE;
    hr__statement_bind_sized(statement, is_none ? NULL : digest->bytes, is_none ? 0 : digest->size);
}

void hr__statement_bind_path(struct hr_statement *statement, const char *path)
{
    const char *name = hr__path_last(path);
    hr__statement_bind_sized(statement, path, (size_t)(name - path));
    hr__statement_bind_bytes(statement, name);
}

void hr__statement_bind_file(struct hr_statement *statement, const struct hr_ledger_file *file)
{
    hr__statement_bind_bytes(statement, file->card_identity);
    hr__statement_bind_path(statement, file->path);
    hr__statement_bind_count(statement, file->size_bytes);
    hr__statement_bind_number(statement, file->modified_ns);
}

bool hr__statement_row(struct hr_statement *statement)
{
    if (statement->code != SQLITE_OK)
        return false;
    int code = sqlite3_step(statement->prepared);
    if (code != SQLITE_ROW && code != SQLITE_DONE)
        statement->code = code;
    return code == SQLITE_ROW;
}

int64_t hr__statement_number(struct hr_statement *statement, int column)
{
    return sqlite3_column_int64(statement->prepared, column);
}

double hr__statement_real(struct hr_statement *statement, int column)
{
    return sqlite3_column_double(statement->prepared, column);
}

uint64_t hr__statement_count(struct hr_statement *statement, int column)
{
    return (uint64_t)hr__statement_number(statement, column);
}

const char *hr__statement_string(struct hr_statement *statement, int column)
{
    /* Of a BLOB this gives the same bytes with a NUL behind: the database is UTF-8, nothing is converted. */
    const unsigned char *string = sqlite3_column_text(statement->prepared, column);
    if (!string)
        statement->code = SQLITE_NOMEM;
    return string ? (const char *)string : "";
}

struct hr_digest hr__statement_digest(struct hr_statement *statement, int column, enum hr_digest_kind kind)
{
    struct hr_digest digest = {0};
    const void *bytes = sqlite3_column_blob(statement->prepared, column);
    int size = sqlite3_column_bytes(statement->prepared, column);
    if (bytes && (size_t)size == hr_digest_kind_size(kind)) {
        digest.kind = (uint8_t)kind;
        digest.size = (uint8_t)size;
        memcpy(digest.bytes, bytes, digest.size);
    } else if (bytes) {
        statement->code = SQLITE_CORRUPT;
    }
    return digest;
}
