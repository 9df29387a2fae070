/* SPDX-License-Identifier: ISC */
#include "ledger/ledger_fault.h"

#include <stdio.h>
#include <string.h>

#include <headrace/name.h>

#include "base/fault.h"
#include "ledger/handle.h"
#include "platform/file.h"

enum { PRIMARY_CODE = 0xFF };

/* SQLite keeps the system's last error, which need not be the one that mattered: "no such file" is often about a second
 * file it only looked for. */
static enum hr_status status_of_system(sqlite3 *database)
{
    enum hr_status status = hr__status_of_errno(sqlite3_system_errno(database));
    switch (status) {
    case HR_NOMEM:
    case HR_DENIED:
    case HR_READ_ONLY:
    case HR_FULL:
    case HR_GONE:
        return status;
    default:
        return HR_IO;
    }
}

static enum hr_status status_of_code(sqlite3 *database, int code)
{
    if (code == SQLITE_IOERR_NOMEM)
        return HR_NOMEM;
    if (code == SQLITE_CONSTRAINT_FOREIGNKEY)
        return HR_NOT_FOUND;
    switch (code & PRIMARY_CODE) {
    case SQLITE_OK:
    case SQLITE_ROW:
    case SQLITE_DONE:
        return HR_OK;
    case SQLITE_NOMEM:
        return HR_NOMEM;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL:
        return HR_BUSY;
    case SQLITE_FULL:
        return HR_FULL;
    case SQLITE_TOOBIG:
        return HR_TOO_LARGE;
    case SQLITE_READONLY:
        return HR_READ_ONLY;
    case SQLITE_PERM:
        return HR_DENIED;
    case SQLITE_CANTOPEN:
    case SQLITE_IOERR:
        return status_of_system(database);
    default: /* NOTADB, CORRUPT; and ERROR, CONSTRAINT, MISMATCH: our SQL is right, so the tables are not */
        return HR_MALFORMED;
    }
}

enum hr_status hr__ledger_says(const struct hr_ledger *ledger, enum hr_status status, const char *before,
                               const char *after, struct hr_fault *fault)
{
    char path[HR_FAULT_TEXT_SIZE / 2];
    hr_escape_name(path, sizeof path, ledger->path, strlen(ledger->path));
    return hr__fault_set(fault, status, 0, "%s%s%s", before, path, after);
}

enum hr_status hr__ledger_fault(const struct hr_ledger *ledger, int code, struct hr_fault *fault)
{
    char detail[128];
    enum hr_status status = status_of_code(ledger->database, code);
    switch (status) {
    case HR_OK:
        return HR_OK;
    case HR_NOMEM:
        return hr__fault_nomem(fault, "the ledger");
    case HR_BUSY:
        return hr__ledger_says(ledger, status, "the ledger ",
                               " is in use by another program; try again when that is done", fault);
    case HR_FULL:
        return hr__ledger_says(ledger, status, "no room to write the ledger ", "; make room on its drive and run again",
                               fault);
    case HR_READ_ONLY:
        return hr__ledger_says(ledger, status, "the ledger ", " can be read but not written", fault);
    case HR_NOT_FOUND:
        return hr__ledger_says(ledger, status, "no such bag or run stands in the ledger ", "", fault);
    case HR_MALFORMED:
        return hr__ledger_says(ledger, status, "the ledger ",
                               " is damaged or not a ledger; the copies do not need it: move it away and run `headrace "
                               "verify PLACE` to fill a new one",
                               fault);
    case HR_DENIED:
        return hr__ledger_says(ledger, status, "this user may not use the ledger ", "", fault);
    default:
        snprintf(detail, sizeof detail, ": %s", sqlite3_errstr(code));
        return hr__ledger_says(ledger, status, "cannot use the ledger ", detail, fault);
    }
}
