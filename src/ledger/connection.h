/* SPDX-License-Identifier: ISC */
/* The way to the file: how it is opened, hardened and journalled. */
#ifndef HR_LEDGER_CONNECTION_H
#define HR_LEDGER_CONNECTION_H

#include <headrace/status.h>

struct hr_ledger;

/* Both open ledger->path into ledger->database, which stays NULL on failure. The first makes the file and the folders
 * above it. */
HR_MUST_USE enum hr_status hr__connection_open(struct hr_ledger *ledger, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__connection_open_read_only(struct hr_ledger *ledger, struct hr_fault *fault);
void hr__connection_close(struct hr_ledger *ledger);

/* Puts a new ledger into WAL mode, where readers and a writer do not wait for each other, if its filesystem and the
 * moment allow; the rollback journal it is born with is as safe, only slower. */
HR_MUST_USE enum hr_status hr__connection_use_wal(struct hr_ledger *ledger, struct hr_fault *fault);

#endif
