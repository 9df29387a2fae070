/* SPDX-License-Identifier: ISC */
/* The one place where SQLite's result codes become statuses. */
#ifndef HR_LEDGER_FAULT_H
#define HR_LEDGER_FAULT_H

#include <headrace/status.h>

struct hr_ledger;

/* The status of the (extended) result `code` that the ledger's database gave last; HR_OK for SQLITE_OK, SQLITE_ROW and
 * SQLITE_DONE. For the others the fault says what to do. */
enum hr_status hr__ledger_fault(const struct hr_ledger *ledger, int code, struct hr_fault *fault);

/* "BEFORE<path of the ledger>AFTER", for what SQLite itself does not find wrong. */
enum hr_status hr__ledger_says(const struct hr_ledger *ledger, enum hr_status status, const char *before,
                               const char *after, struct hr_fault *fault);

#endif
