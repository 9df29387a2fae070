/* SPDX-License-Identifier: ISC */
/* Prepared statements, each made once a ledger and kept.
 *
 *     struct hr_statement find = hr__statement_start(ledger, HR_SQL_FIND_FILE, "SELECT ... WHERE a = ? AND b = ?");
 *     hr__statement_bind_bytes(&find, a);
 *     hr__statement_bind_number(&find, b);
 *     while (hr__statement_row(&find))
 *         ... hr__statement_number(&find, 0) ...
 *     return hr__statement_finish(&find, fault);
 *
 * What goes wrong on the way makes the later calls do nothing and comes out of hr__statement_finish, which must be
 * called once a start. What is bound must live until then. Columns count from 0 and are read while their row stands.
 *
 * Names are bytes and stored as BLOB, so that SQLite never looks into them; words of our own (proof, stage, outcome)
 * are TEXT. */
#ifndef HR_LEDGER_STATEMENT_H
#define HR_LEDGER_STATEMENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sqlite3.h>

#include <headrace/ledger.h>

/* Where a prepared statement is kept. */
enum hr_sql {
    HR_SQL_INSPECT,
    HR_SQL_ADD_CARD,
    HR_SQL_ADD_BAG,
    HR_SQL_BAG,
    HR_SQL_FIND_BAG,
    HR_SQL_KNOWS_MOUNT_POINT,
    HR_SQL_FIND_FILE,
    HR_SQL_ADD_FILE,
    HR_SQL_ADD_SHA256,
    HR_SQL_FORGET_FILE,
    HR_SQL_ADD_COPY,
    HR_SQL_FORGET_BAG,
    HR_SQL_FORGET_COPY,
    HR_SQL_FIND_COPIES,
    HR_SQL_MAY_KNOW,
    HR_SQL_FIND_CONTENT,
    HR_SQL_HAS_NAMESAKES,
    HR_SQL_FIND_NAMESAKES,
    HR_SQL_START_RUN,
    HR_SQL_END_RUN,
    HR_SQL_RUNS,
    HR_SQL_ADD_SAMPLE,
    HR_SQL_SAMPLES,
    HR_SQL_ADD_SPEED,
    HR_SQL_SPEEDS,
    HR_SQL_ADD_FORECAST,
    HR_SQL_FORECASTS,
    HR_SQL_ADD_BUFFER,
    HR_SQL_BUFFERS,
    HR_SQL_COUNT
};

struct hr_statement {
    struct hr_ledger *ledger;
    sqlite3_stmt *prepared;
    int bound; /* parameters so far */
    int code;  /* SQLite's, of the first thing that went wrong */
};

struct hr_statement hr__statement_start(struct hr_ledger *ledger, enum hr_sql slot, const char *sql);
HR_MUST_USE enum hr_status hr__statement_finish(struct hr_statement *statement, struct hr_fault *fault);
/* For a statement that gives no rows: runs and finishes it. */
HR_MUST_USE enum hr_status hr__statement_run(struct hr_statement *statement, struct hr_fault *fault);

/* Each binds the next parameter. A NULL string is bound as "". */
void hr__statement_bind_bytes(struct hr_statement *statement, const char *string);
void hr__statement_bind_sized(struct hr_statement *statement, const void *bytes, size_t size);
void hr__statement_bind_word(struct hr_statement *statement, const char *word);
/* As bytes, but NULL in SQL for NULL. */
void hr__statement_bind_bytes_or_null(struct hr_statement *statement, const char *string);
void hr__statement_bind_number(struct hr_statement *statement, int64_t number);
/* Sizes and counts have 64 bits without a sign in C, with one in SQLite: the bits are kept, not the order. */
void hr__statement_bind_count(struct hr_statement *statement, uint64_t count);
/* At most as many rows as SQL can count. */
void hr__statement_bind_limit(struct hr_statement *statement, size_t limit);
void hr__statement_bind_real(struct hr_statement *statement, double real);
/* NULL in SQL for HR_DIGEST_NONE. */
void hr__statement_bind_digest(struct hr_statement *statement, const struct hr_digest *digest);

/* Two parameters: folder, with its slash, and name. */
void hr__statement_bind_path(struct hr_statement *statement, const char *path);
/* Five parameters: card, path, size and time. */
void hr__statement_bind_file(struct hr_statement *statement, const struct hr_ledger_file *file);

/* True while another row stands. */
bool hr__statement_row(struct hr_statement *statement);
int64_t hr__statement_number(struct hr_statement *statement, int column);
double hr__statement_real(struct hr_statement *statement, int column);
uint64_t hr__statement_count(struct hr_statement *statement, int column);
/* Lives until the next row or the finish; never NULL. */
const char *hr__statement_string(struct hr_statement *statement, int column);
/* HR_DIGEST_NONE for NULL; a wrong length is damage. */
struct hr_digest hr__statement_digest(struct hr_statement *statement, int column, enum hr_digest_kind kind);

#endif
