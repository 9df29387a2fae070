/* SPDX-License-Identifier: ISC */
#include <headrace/ledger.h>

#include "ledger/handle.h"
#include "ledger/ledger_fault.h"
#include "ledger/statement.h"

static enum hr_status insert_run(int64_t *id, struct hr_ledger *ledger, const struct hr_ledger_run *run,
                                 struct hr_fault *fault)
{
    struct hr_statement insert = hr__statement_start(
        ledger, HR_SQL_START_RUN,
        "INSERT INTO run (started_wall_ns, job, host, cards, places, policies, elapsed_ns, outcome, files, bytes,"
        " failed_files) VALUES (?, ?, ?, ?, ?, ?, -1, '', 0, 0, 0)");
    hr__statement_bind_number(&insert, run->started_wall_ns);
    hr__statement_bind_bytes(&insert, run->job);
    hr__statement_bind_bytes(&insert, run->host);
    hr__statement_bind_bytes(&insert, run->cards);
    hr__statement_bind_bytes(&insert, run->places);
    hr__statement_bind_bytes(&insert, run->policies);
    enum hr_status status = hr__statement_run(&insert, fault);
    *id = sqlite3_last_insert_rowid(ledger->database);
    return status;
}

enum hr_status hr_ledger_start_run(int64_t *id, struct hr_ledger *ledger, const struct hr_ledger_run *run,
                                   struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    if (status != HR_OK)
        return status;
    int64_t given = 0;
    status = hr__ledger_step_end(ledger, insert_run(&given, ledger, run, fault), fault);
    if (status == HR_OK)
        *id = given;
    return status;
}

static enum hr_status update_run(struct hr_ledger *ledger, const struct hr_ledger_run *run, struct hr_fault *fault)
{
    struct hr_statement update =
        hr__statement_start(ledger, HR_SQL_END_RUN,
                            "UPDATE run SET elapsed_ns = ?, outcome = ?, files = ?, bytes = ?, failed_files = ?,"
                            " policies = ? WHERE id = ?");
    hr__statement_bind_number(&update, run->elapsed_ns);
    hr__statement_bind_word(&update, run->outcome);
    hr__statement_bind_count(&update, run->files);
    hr__statement_bind_count(&update, run->bytes);
    hr__statement_bind_count(&update, run->failed_files);
    hr__statement_bind_bytes(&update, run->policies);
    hr__statement_bind_number(&update, run->id);
    enum hr_status status = hr__statement_run(&update, fault);
    if (status == HR_OK && sqlite3_changes(ledger->database) == 0)
        return hr__ledger_says(ledger, HR_NOT_FOUND, "no such run stands in the ledger ", "", fault);
    return status;
}

enum hr_status hr_ledger_end_run(struct hr_ledger *ledger, const struct hr_ledger_run *run, struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    return status == HR_OK ? hr__ledger_step_end(ledger, update_run(ledger, run, fault), fault) : status;
}

static struct hr_ledger_run run_of_row(struct hr_statement *row)
{
    return (struct hr_ledger_run){
        .id = hr__statement_number(row, 0),
        .started_wall_ns = hr__statement_number(row, 1),
        .elapsed_ns = hr__statement_number(row, 2),
        .job = hr__statement_string(row, 3),
        .host = hr__statement_string(row, 4),
        .cards = hr__statement_string(row, 5),
        .places = hr__statement_string(row, 6),
        .outcome = hr__statement_string(row, 7),
        .files = hr__statement_count(row, 8),
        .bytes = hr__statement_count(row, 9),
        .failed_files = hr__statement_count(row, 10),
        .policies = hr__statement_string(row, 11),
    };
}

enum hr_status hr_ledger_runs(struct hr_ledger *ledger, int64_t id, size_t limit,
                              bool (*each)(void *context, const struct hr_ledger_run *run), void *context,
                              struct hr_fault *fault)
{
    struct hr_statement find = hr__statement_start(
        ledger, HR_SQL_RUNS,
        "SELECT id, started_wall_ns, elapsed_ns, job, host, cards, places, outcome, files, bytes, failed_files,"
        " policies FROM run WHERE id = ?1 OR ?1 = 0 ORDER BY id DESC LIMIT ?2");
    hr__statement_bind_number(&find, id);
    hr__statement_bind_limit(&find, limit);
    bool goes_on = true, is_known = false;
    while (goes_on && hr__statement_row(&find)) {
        struct hr_ledger_run run = run_of_row(&find);
        is_known = true;
        goes_on = each(context, &run);
    }
    enum hr_status status = hr__statement_finish(&find, fault);
    if (status == HR_OK && id != 0 && !is_known)
        return hr__ledger_says(ledger, HR_NOT_FOUND, "no such run stands in the ledger ", "", fault);
    return status;
}
