/* SPDX-License-Identifier: ISC */
#include <headrace/ledger.h>

#include "ledger/handle.h"
#include "ledger/statement.h"

static enum hr_status insert_sample(struct hr_ledger *ledger, int64_t run, const struct hr_ledger_sample *sample,
                                    struct hr_fault *fault)
{
    struct hr_statement insert =
        hr__statement_start(ledger, HR_SQL_ADD_SAMPLE,
                            "INSERT INTO sample (run, at_ns, stage, lane, device, link, bytes, queue_fill_percent)"
                            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
    hr__statement_bind_number(&insert, run);
    hr__statement_bind_number(&insert, sample->at_ns);
    hr__statement_bind_word(&insert, sample->stage);
    hr__statement_bind_number(&insert, sample->lane);
    hr__statement_bind_bytes(&insert, sample->device);
    hr__statement_bind_bytes(&insert, sample->link);
    hr__statement_bind_count(&insert, sample->bytes);
    hr__statement_bind_number(&insert, sample->queue_fill_percent);
    return hr__statement_run(&insert, fault);
}

enum hr_status hr_ledger_add_sample(struct hr_ledger *ledger, int64_t run, const struct hr_ledger_sample *sample,
                                    struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    return status == HR_OK ? hr__ledger_step_end(ledger, insert_sample(ledger, run, sample, fault), fault) : status;
}

enum hr_status hr_ledger_samples(struct hr_ledger *ledger, int64_t run,
                                 bool (*each)(void *context, const struct hr_ledger_sample *sample), void *context,
                                 struct hr_fault *fault)
{
    struct hr_statement find = hr__statement_start(
        ledger, HR_SQL_SAMPLES,
        "SELECT at_ns, stage, lane, device, link, bytes, queue_fill_percent FROM sample WHERE run = ? ORDER BY id");
    hr__statement_bind_number(&find, run);
    bool goes_on = true;
    while (goes_on && hr__statement_row(&find)) {
        struct hr_ledger_sample sample = {
            .at_ns = hr__statement_number(&find, 0),
            .stage = hr__statement_string(&find, 1),
            .lane = (uint32_t)hr__statement_number(&find, 2),
            .device = hr__statement_string(&find, 3),
            .link = hr__statement_string(&find, 4),
            .bytes = hr__statement_count(&find, 5),
            .queue_fill_percent = (uint32_t)hr__statement_number(&find, 6),
        };
        goes_on = each(context, &sample);
    }
    return hr__statement_finish(&find, fault);
}
