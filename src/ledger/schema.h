/* SPDX-License-Identifier: ISC */
/* The tables, and the versions of them. */
#ifndef HR_LEDGER_SCHEMA_H
#define HR_LEDGER_SCHEMA_H

#include <stdbool.h>

#include <headrace/status.h>

struct hr_ledger;

enum { HR_SCHEMA_VERSION = 3, HR_SCHEMA_WITH_SPEEDS = 2, HR_SCHEMA_WITH_BUFFERS = 3 };

/* Is this database a ledger that we can use? Sets ledger->version, 0 when it holds nothing at all yet. HR_MALFORMED for
 * a database of something else, HR_UNSUPPORTED for a ledger of a newer version. */
HR_MUST_USE enum hr_status hr__schema_inspect(struct hr_ledger *ledger, struct hr_fault *fault);

/* Makes the tables in an empty database, and those that a ledger of an older version lacks, in one step; *was_made is
 * true for the first. */
HR_MUST_USE enum hr_status hr__schema_make(bool *was_made, struct hr_ledger *ledger, struct hr_fault *fault);

#endif
