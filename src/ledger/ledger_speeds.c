/* SPDX-License-Identifier: ISC */
#include <headrace/ledger.h>

#include "ledger/figures.h"
#include "ledger/handle.h"
#include "ledger/schema.h"
#include "ledger/statement.h"

static enum hr_status insert_speed(struct hr_ledger *ledger, const struct hr_ledger_speed *speed,
                                   struct hr_fault *fault)
{
    struct hr_statement insert =
        hr__statement_start(ledger, HR_SQL_ADD_SPEED,
                            "INSERT INTO speed (device, link, direction, source, at_wall_ns, bytes, bytes_per_s,"
                            " file_s, fast_bytes, slow_bytes_per_s, together)"
                            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    hr__statement_bind_bytes(&insert, speed->device);
    hr__statement_bind_bytes(&insert, speed->link);
    hr__statement_bind_word(&insert, speed->direction);
    hr__statement_bind_word(&insert, speed->source);
    hr__statement_bind_number(&insert, speed->at_wall_ns);
    hr__statement_bind_count(&insert, speed->bytes);
    hr__statement_bind_real(&insert, speed->bytes_per_s);
    hr__statement_bind_real(&insert, speed->file_s);
    hr__statement_bind_real(&insert, speed->fast_bytes);
    hr__statement_bind_real(&insert, speed->slow_bytes_per_s);
    hr__statement_bind_real(&insert, speed->together);
    return hr__statement_run(&insert, fault);
}

enum hr_status hr_ledger_add_speed(struct hr_ledger *ledger, const struct hr_ledger_speed *speed,
                                   struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    if (status != HR_OK)
        return status;
    const double figures[] = {speed->bytes_per_s, speed->file_s, speed->fast_bytes, speed->slow_bytes_per_s,
                              speed->together};
    status = hr__figures_check(ledger, HR_SCHEMA_WITH_SPEEDS, figures, sizeof figures / sizeof *figures, fault);
    return hr__ledger_step_end(ledger, status == HR_OK ? insert_speed(ledger, speed, fault) : status, fault);
}

static struct hr_ledger_speed speed_of_row(struct hr_statement *row)
{
    return (struct hr_ledger_speed){
        .device = hr__statement_string(row, 0),
        .link = hr__statement_string(row, 1),
        .direction = hr__statement_string(row, 2),
        .source = hr__statement_string(row, 3),
        .at_wall_ns = hr__statement_number(row, 4),
        .bytes = hr__statement_count(row, 5),
        .bytes_per_s = hr__statement_real(row, 6),
        .file_s = hr__statement_real(row, 7),
        .fast_bytes = hr__statement_real(row, 8),
        .slow_bytes_per_s = hr__statement_real(row, 9),
        .together = hr__statement_real(row, 10),
    };
}

enum hr_status hr_ledger_speeds(struct hr_ledger *ledger, const char *device, const char *link, const char *direction,
                                size_t limit, bool (*each)(void *context, const struct hr_ledger_speed *speed),
                                void *context, struct hr_fault *fault)
{
    if (ledger->version < HR_SCHEMA_WITH_SPEEDS)
        return HR_OK;
    struct hr_statement find = hr__statement_start(
        ledger, HR_SQL_SPEEDS,
        "SELECT device, link, direction, source, at_wall_ns, bytes, bytes_per_s, file_s, fast_bytes, slow_bytes_per_s,"
        " together FROM speed WHERE device = ?1 AND direction = ?2 AND (?3 IS NULL OR link = ?3)"
        " ORDER BY id DESC LIMIT ?4");
    hr__statement_bind_bytes(&find, device);
    hr__statement_bind_word(&find, direction);
    hr__statement_bind_bytes_or_null(&find, link);
    hr__statement_bind_limit(&find, limit);
    bool goes_on = true;
    while (goes_on && hr__statement_row(&find)) {
        struct hr_ledger_speed speed = speed_of_row(&find);
        goes_on = each(context, &speed);
    }
    return hr__statement_finish(&find, fault);
}
