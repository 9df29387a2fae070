/* SPDX-License-Identifier: ISC */
#include <headrace/ledger.h>

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "ledger/connection.h"
#include "ledger/handle.h"
#include "ledger/ledger_fault.h"
#include "ledger/schema.h"
#include "platform/machine.h"

enum { BAG_STRINGS_CEILING_BYTES = 1 << 20 };

static enum hr_status find_own_path(char **out, struct hr_fault *fault)
{
    char *folder = NULL;
    enum hr_status status = hr__state_folder(&folder, fault);
    if (status != HR_OK)
        return status;
    *out = hr__path_join(folder, "ledger.db");
    free(folder);
    return *out ? HR_OK : hr__fault_nomem(fault, "the path of the ledger");
}

static enum hr_status create(struct hr_ledger **out, const char *path, struct hr_fault *fault)
{
    struct hr_ledger *ledger = calloc(1, sizeof *ledger);
    if (!ledger)
        return hr__fault_nomem(fault, "the ledger");
    hr__text_init(&ledger->bag_strings, BAG_STRINGS_CEILING_BYTES);
    *out = ledger;
    if (!path)
        return find_own_path(&ledger->path, fault);
    ledger->path = strdup(path);
    return ledger->path ? HR_OK : hr__fault_nomem(fault, "the path of the ledger");
}

static enum hr_status open_for_writing(struct hr_ledger *ledger, struct hr_fault *fault)
{
    bool was_made = false;
    enum hr_status status = hr__connection_open(ledger, fault);
    if (status == HR_OK)
        status = hr__schema_make(&was_made, ledger, fault);
    if (status == HR_OK && was_made)
        status = hr__connection_use_wal(ledger, fault);
    return status;
}

static enum hr_status open_for_reading(struct hr_ledger *ledger, struct hr_fault *fault)
{
    enum hr_status status = hr__connection_open_read_only(ledger, fault);
    if (status == HR_OK)
        status = hr__schema_inspect(ledger, fault);
    return status == HR_OK && ledger->version == 0
               ? hr__ledger_says(ledger, HR_NOT_FOUND, "nothing stands in the ledger ", "", fault)
               : status;
}

static enum hr_status open_with(enum hr_status (*open)(struct hr_ledger *ledger, struct hr_fault *fault),
                                struct hr_ledger **out, const char *path, struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    enum hr_status status = create(&ledger, path, fault);
    if (status == HR_OK)
        status = open(ledger, fault);
    if (status == HR_OK)
        *out = ledger;
    else
        hr_ledger_close(ledger);
    return status;
}

enum hr_status hr_ledger_open(struct hr_ledger **out, const char *path, struct hr_fault *fault)
{
    return open_with(open_for_writing, out, path, fault);
}

enum hr_status hr_ledger_open_read_only(struct hr_ledger **out, const char *path, struct hr_fault *fault)
{
    return open_with(open_for_reading, out, path, fault);
}

void hr_ledger_close(struct hr_ledger *ledger)
{
    if (!ledger)
        return;
    hr__connection_close(ledger);
    hr__text_finish(&ledger->bag_strings);
    free(ledger->path);
    free(ledger);
}

enum hr_status hr__ledger_execute(struct hr_ledger *ledger, const char *sql, struct hr_fault *fault)
{
    return hr__ledger_fault(ledger, sqlite3_exec(ledger->database, sql, NULL, NULL, NULL), fault);
}

/* Some errors (no room, no memory) make SQLite do this by itself. */
static void roll_back(struct hr_ledger *ledger)
{
    if (!sqlite3_get_autocommit(ledger->database))
        sqlite3_exec(ledger->database, "ROLLBACK", NULL, NULL, NULL);
}

static enum hr_status keep(struct hr_ledger *ledger, struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_execute(ledger, "COMMIT", fault);
    if (status != HR_OK)
        roll_back(ledger);
    return status;
}

/* Taken as a writer from the start: a reader that turns writer midway can only fail when another was quicker. */
static enum hr_status begin(struct hr_ledger *ledger, struct hr_fault *fault)
{
    return hr__ledger_execute(ledger, "BEGIN IMMEDIATE", fault);
}

static enum hr_status tell_of_lost_group(const struct hr_ledger *ledger, struct hr_fault *fault)
{
    return hr__ledger_says(ledger, ledger->group_status, "an earlier failure undid what was being noted in the ledger ",
                           "", fault);
}

enum hr_status hr__ledger_step_begin(struct hr_ledger *ledger, struct hr_fault *fault)
{
    if (ledger->group_status != HR_OK)
        return tell_of_lost_group(ledger, fault);
    return ledger->has_group ? HR_OK : begin(ledger, fault);
}

enum hr_status hr__ledger_step_end(struct hr_ledger *ledger, enum hr_status status, struct hr_fault *fault)
{
    if (status == HR_OK)
        return ledger->has_group ? HR_OK : keep(ledger, fault);
    roll_back(ledger);
    if (ledger->has_group)
        ledger->group_status = status;
    return status;
}

enum hr_status hr_ledger_begin(struct hr_ledger *ledger, struct hr_fault *fault)
{
    assert(!ledger->has_group);
    enum hr_status status = begin(ledger, fault);
    ledger->has_group = status == HR_OK;
    return status;
}

enum hr_status hr_ledger_commit(struct hr_ledger *ledger, struct hr_fault *fault)
{
    assert(ledger->has_group);
    enum hr_status status = ledger->group_status != HR_OK ? tell_of_lost_group(ledger, fault) : keep(ledger, fault);
    ledger->has_group = false;
    ledger->group_status = HR_OK;
    return status;
}

enum hr_status hr_ledger_begin_asking(struct hr_ledger *ledger, struct hr_fault *fault)
{
    assert(!ledger->has_group);
    return hr__ledger_execute(ledger, "BEGIN", fault);
}

void hr_ledger_end_asking(struct hr_ledger *ledger)
{
    roll_back(ledger);
}
