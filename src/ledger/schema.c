/* SPDX-License-Identifier: ISC */
#include "ledger/schema.h"

#include <stdint.h>

#include "ledger/handle.h"
#include "ledger/ledger_fault.h"
#include "ledger/statement.h"

/* "HRlg": the ledger is told from any other SQLite database before anything in it is believed. */
enum { APPLICATION_ID = 0x48526C67 };

/* A path is kept in two columns, folder (with its slash) and name, so that names can be looked up by an index without
 * being stored twice. A file stands as long as it has a copy: the trigger sees to it. */
static const char first_tables[] =
    "CREATE TABLE card (id INTEGER PRIMARY KEY, identity BLOB NOT NULL UNIQUE) STRICT;"

    "CREATE TABLE bag (id INTEGER PRIMARY KEY, card INTEGER NOT NULL REFERENCES card, card_name BLOB NOT NULL,"
    " job BLOB NOT NULL, volume BLOB NOT NULL, disks BLOB NOT NULL, mount_point BLOB NOT NULL,"
    " path_on_volume BLOB NOT NULL, UNIQUE (volume, path_on_volume)) STRICT;"

    "CREATE TABLE file (id INTEGER PRIMARY KEY, card INTEGER NOT NULL REFERENCES card, folder BLOB NOT NULL,"
    " name BLOB NOT NULL, size_bytes INTEGER NOT NULL, modified_ns INTEGER NOT NULL, xxh128 BLOB NOT NULL, sha256 BLOB,"
    " UNIQUE (card, folder, name, size_bytes, modified_ns)) STRICT;"
    "CREATE INDEX file_by_name ON file (name, size_bytes);"
    "CREATE INDEX file_by_content ON file (xxh128);"

    "CREATE TABLE copy (file INTEGER NOT NULL REFERENCES file, bag INTEGER NOT NULL REFERENCES bag,"
    " proof TEXT NOT NULL, proven_at_ns INTEGER NOT NULL, PRIMARY KEY (file, bag)) STRICT, WITHOUT ROWID;"
    "CREATE INDEX copy_by_bag ON copy (bag);"
    "CREATE TRIGGER forget_file AFTER DELETE ON copy"
    " WHEN NOT EXISTS (SELECT 1 FROM copy WHERE file = OLD.file)"
    " BEGIN DELETE FROM file WHERE id = OLD.file; END;"

    "CREATE TABLE run (id INTEGER PRIMARY KEY, started_wall_ns INTEGER NOT NULL, elapsed_ns INTEGER NOT NULL,"
    " job BLOB NOT NULL, host BLOB NOT NULL, cards BLOB NOT NULL, places BLOB NOT NULL, outcome TEXT NOT NULL,"
    " files INTEGER NOT NULL, bytes INTEGER NOT NULL, failed_files INTEGER NOT NULL, policies BLOB NOT NULL) STRICT;"

    "CREATE TABLE sample (id INTEGER PRIMARY KEY, run INTEGER NOT NULL REFERENCES run, at_ns INTEGER NOT NULL,"
    " stage TEXT NOT NULL, lane INTEGER NOT NULL, device BLOB NOT NULL, link BLOB NOT NULL, bytes INTEGER NOT NULL,"
    " queue_fill_percent INTEGER NOT NULL) STRICT;"
    "CREATE INDEX sample_by_run ON sample (run);"

    "PRAGMA application_id = 0x48526C67;"
    "PRAGMA user_version = 1;";

static const char speed_tables[] =
    "CREATE TABLE speed (id INTEGER PRIMARY KEY, device BLOB NOT NULL, link BLOB NOT NULL, direction TEXT NOT NULL,"
    " source TEXT NOT NULL, at_wall_ns INTEGER NOT NULL, bytes INTEGER NOT NULL, bytes_per_s REAL NOT NULL,"
    " file_s REAL NOT NULL, fast_bytes REAL NOT NULL, slow_bytes_per_s REAL NOT NULL, together REAL NOT NULL) STRICT;"
    "CREATE INDEX speed_by_device ON speed (device, direction);"

    "CREATE TABLE forecast (run INTEGER PRIMARY KEY REFERENCES run, pair BLOB NOT NULL, copied_s REAL NOT NULL,"
    " verified_s REAL NOT NULL, real_copied_s REAL NOT NULL, real_verified_s REAL NOT NULL) STRICT;"
    "CREATE INDEX forecast_by_pair ON forecast (pair);"

    "PRAGMA user_version = 2;";

static const char buffer_tables[] =
    "CREATE TABLE buffer (body BLOB NOT NULL, card BLOB NOT NULL, files BLOB NOT NULL, shot_local_ns INTEGER NOT NULL,"
    " depth_frames REAL NOT NULL, drain_per_s REAL NOT NULL, drain_bytes_per_s REAL NOT NULL,"
    " PRIMARY KEY (body, card, files)) STRICT, WITHOUT ROWID;"

    "PRAGMA user_version = 3;";

/* What leads from each version to the next; 0 is an empty file. */
static const char *const steps[HR_SCHEMA_VERSION] = {first_tables, speed_tables, buffer_tables};

static enum hr_status judge(const struct hr_ledger *ledger, int64_t application, int64_t version, int64_t entries,
                            struct hr_fault *fault)
{
    bool is_empty = application == 0 && version == 0 && entries == 0;
    bool is_ours = application == APPLICATION_ID && version >= 1;
    if (is_empty || (is_ours && version <= HR_SCHEMA_VERSION))
        return HR_OK;
    if (is_ours)
        return hr__ledger_says(ledger, HR_UNSUPPORTED, "the ledger ",
                               " was made by a newer headrace; use that one, or move the ledger away and run "
                               "`headrace verify PLACE` to fill a new one",
                               fault);
    return hr__ledger_fault(ledger, SQLITE_NOTADB, fault);
}

enum hr_status hr__schema_inspect(struct hr_ledger *ledger, struct hr_fault *fault)
{
    struct hr_statement inspect =
        hr__statement_start(ledger, HR_SQL_INSPECT,
                            "SELECT application_id, user_version, (SELECT count(*) FROM sqlite_schema)"
                            " FROM pragma_application_id, pragma_user_version");
    int64_t application = 0, version = 0, entries = 0;
    if (hr__statement_row(&inspect)) {
        application = hr__statement_number(&inspect, 0);
        version = hr__statement_number(&inspect, 1);
        entries = hr__statement_number(&inspect, 2);
    }
    enum hr_status status = hr__statement_finish(&inspect, fault);
    if (status == HR_OK)
        status = judge(ledger, application, version, entries, fault);
    if (status == HR_OK)
        ledger->version = version;
    return status;
}

static enum hr_status take_steps(struct hr_ledger *ledger, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    while (status == HR_OK && ledger->version < HR_SCHEMA_VERSION)
        status = hr__ledger_execute(ledger, steps[ledger->version++], fault);
    return status;
}

enum hr_status hr__schema_make(bool *was_made, struct hr_ledger *ledger, struct hr_fault *fault)
{
    enum hr_status status = hr__schema_inspect(ledger, fault);
    *was_made = status == HR_OK && ledger->version == 0;
    if (status != HR_OK || ledger->version == HR_SCHEMA_VERSION)
        return status;
    status = hr__ledger_step_begin(ledger, fault);
    if (status != HR_OK)
        return status;
    /* Again, now that nobody else can make them meanwhile. */
    status = hr__schema_inspect(ledger, fault);
    *was_made = status == HR_OK && ledger->version == 0;
    if (status == HR_OK)
        status = take_steps(ledger, fault);
    return hr__ledger_step_end(ledger, status, fault);
}
