/* SPDX-License-Identifier: ISC */
#include <headrace/ledger.h>

#include "ledger/figures.h"
#include "ledger/handle.h"
#include "ledger/schema.h"
#include "ledger/statement.h"

static enum hr_status insert_forecast(struct hr_ledger *ledger, const struct hr_ledger_forecast *forecast,
                                      struct hr_fault *fault)
{
    struct hr_statement insert = hr__statement_start(
        ledger, HR_SQL_ADD_FORECAST,
        "INSERT OR REPLACE INTO forecast (run, pair, copied_s, verified_s, real_copied_s, real_verified_s)"
        " VALUES (?, ?, ?, ?, ?, ?)");
    hr__statement_bind_number(&insert, forecast->run);
    hr__statement_bind_bytes(&insert, forecast->pair);
    hr__statement_bind_real(&insert, forecast->copied_s);
    hr__statement_bind_real(&insert, forecast->verified_s);
    hr__statement_bind_real(&insert, forecast->real_copied_s);
    hr__statement_bind_real(&insert, forecast->real_verified_s);
    return hr__statement_run(&insert, fault);
}

enum hr_status hr_ledger_add_forecast(struct hr_ledger *ledger, const struct hr_ledger_forecast *forecast,
                                      struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    if (status != HR_OK)
        return status;
    const double figures[] = {forecast->copied_s, forecast->verified_s, forecast->real_copied_s,
                              forecast->real_verified_s};
    status = hr__figures_check(ledger, HR_SCHEMA_WITH_SPEEDS, figures, sizeof figures / sizeof *figures, fault);
    return hr__ledger_step_end(ledger, status == HR_OK ? insert_forecast(ledger, forecast, fault) : status, fault);
}

enum hr_status hr_ledger_forecasts(struct hr_ledger *ledger, const char *pair, size_t limit,
                                   bool (*each)(void *context, const struct hr_ledger_forecast *forecast),
                                   void *context, struct hr_fault *fault)
{
    if (ledger->version < HR_SCHEMA_WITH_SPEEDS)
        return HR_OK;
    struct hr_statement find =
        hr__statement_start(ledger, HR_SQL_FORECASTS,
                            "SELECT run, pair, copied_s, verified_s, real_copied_s, real_verified_s, files, bytes"
                            " FROM forecast JOIN run ON run.id = run"
                            " WHERE ?1 IS NULL OR pair = ?1 ORDER BY run DESC LIMIT ?2");
    hr__statement_bind_bytes_or_null(&find, pair);
    hr__statement_bind_limit(&find, limit);
    bool goes_on = true;
    while (goes_on && hr__statement_row(&find)) {
        struct hr_ledger_forecast forecast = {
            .run = hr__statement_number(&find, 0),
            .pair = hr__statement_string(&find, 1),
            .copied_s = hr__statement_real(&find, 2),
            .verified_s = hr__statement_real(&find, 3),
            .real_copied_s = hr__statement_real(&find, 4),
            .real_verified_s = hr__statement_real(&find, 5),
            .files = (uint64_t)hr__statement_number(&find, 6),
            .bytes = (uint64_t)hr__statement_number(&find, 7),
        };
        goes_on = each(context, &forecast);
    }
    return hr__statement_finish(&find, fault);
}
