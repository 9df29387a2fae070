/* SPDX-License-Identifier: ISC */
/* The open ledger, and the durable steps every change to it is made in. */
#ifndef HR_LEDGER_HANDLE_H
#define HR_LEDGER_HANDLE_H

#include <stdbool.h>
#include <stdint.h>

#include <sqlite3.h>

#include <headrace/ledger.h>

#include "base/text.h"
#include "ledger/statement.h"

struct hr_ledger {
    sqlite3 *database;
    char *path;
    int64_t version;             /* of its tables; an older one than ours only where it is opened to be read */
    bool has_group;              /* between hr_ledger_begin and hr_ledger_commit */
    enum hr_status group_status; /* what undid the group, HR_OK while it stands */
    struct hr_text bag_strings;  /* what hr_ledger_bag handed out last */
    sqlite3_stmt *statements[HR_SQL_COUNT];
};

/* Opens a step of its own, or joins the group. After a failure there is nothing to end. */
HR_MUST_USE enum hr_status hr__ledger_step_begin(struct hr_ledger *ledger, struct hr_fault *fault);
/* Ends it with what became of it: kept when `status` is HR_OK, else undone, and with it the group it is part of.
 * Returns the first thing that went wrong. */
HR_MUST_USE enum hr_status hr__ledger_step_end(struct hr_ledger *ledger, enum hr_status status, struct hr_fault *fault);

/* Runs SQL that takes and answers nothing. */
HR_MUST_USE enum hr_status hr__ledger_execute(struct hr_ledger *ledger, const char *sql, struct hr_fault *fault);

#endif
