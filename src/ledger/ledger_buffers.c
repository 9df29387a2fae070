/* SPDX-License-Identifier: ISC */
#include <headrace/ledger.h>

#include "ledger/figures.h"
#include "ledger/handle.h"
#include "ledger/schema.h"
#include "ledger/statement.h"

static enum hr_status insert_buffer(struct hr_ledger *ledger, const struct hr_ledger_buffer *buffer,
                                    struct hr_fault *fault)
{
    struct hr_statement insert = hr__statement_start(
        ledger, HR_SQL_ADD_BUFFER,
        "INSERT OR REPLACE INTO buffer (body, card, files, shot_local_ns, depth_frames, drain_per_s, drain_bytes_per_s)"
        " VALUES (?, ?, ?, ?, ?, ?, ?)");
    hr__statement_bind_bytes(&insert, buffer->body);
    hr__statement_bind_bytes(&insert, buffer->card);
    hr__statement_bind_bytes(&insert, buffer->files);
    hr__statement_bind_number(&insert, buffer->shot_local_ns);
    hr__statement_bind_real(&insert, buffer->depth_frames);
    hr__statement_bind_real(&insert, buffer->drain_per_s);
    hr__statement_bind_real(&insert, buffer->drain_bytes_per_s);
    return hr__statement_run(&insert, fault);
}

enum hr_status hr_ledger_add_buffer(struct hr_ledger *ledger, const struct hr_ledger_buffer *buffer,
                                    struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    if (status != HR_OK)
        return status;
    const double figures[] = {buffer->depth_frames, buffer->drain_per_s, buffer->drain_bytes_per_s};
    status = hr__figures_check(ledger, HR_SCHEMA_WITH_BUFFERS, figures, sizeof figures / sizeof *figures, fault);
    return hr__ledger_step_end(ledger, status == HR_OK ? insert_buffer(ledger, buffer, fault) : status, fault);
}

enum hr_status hr_ledger_buffers(struct hr_ledger *ledger, const char *body, size_t limit,
                                 bool (*each)(void *context, const struct hr_ledger_buffer *buffer), void *context,
                                 struct hr_fault *fault)
{
    if (ledger->version < HR_SCHEMA_WITH_BUFFERS)
        return HR_OK;
    struct hr_statement find = hr__statement_start(
        ledger, HR_SQL_BUFFERS,
        "SELECT body, card, files, shot_local_ns, depth_frames, drain_per_s, drain_bytes_per_s FROM buffer"
        " WHERE ?1 IS NULL OR body = ?1 ORDER BY shot_local_ns DESC, card, files LIMIT ?2");
    hr__statement_bind_bytes_or_null(&find, body);
    hr__statement_bind_limit(&find, limit);
    bool goes_on = true;
    while (goes_on && hr__statement_row(&find)) {
        struct hr_ledger_buffer buffer = {
            .body = hr__statement_string(&find, 0),
            .card = hr__statement_string(&find, 1),
            .files = hr__statement_string(&find, 2),
            .shot_local_ns = hr__statement_number(&find, 3),
            .depth_frames = hr__statement_real(&find, 4),
            .drain_per_s = hr__statement_real(&find, 5),
            .drain_bytes_per_s = hr__statement_real(&find, 6),
        };
        goes_on = each(context, &buffer);
    }
    return hr__statement_finish(&find, fault);
}
