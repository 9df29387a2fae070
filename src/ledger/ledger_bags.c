/* SPDX-License-Identifier: ISC */
#include <headrace/ledger.h>

#include <string.h>

#include "base/fault.h"
#include "ledger/handle.h"
#include "ledger/ledger_cards.h"
#include "ledger/ledger_fault.h"
#include "ledger/statement.h"

enum { BAG_STRINGS = 7 };

static enum hr_status put_bag(int64_t *id, struct hr_ledger *ledger, const struct hr_ledger_bag *bag,
                              struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_add_card(ledger, bag->card_identity, fault);
    if (status != HR_OK)
        return status;
    struct hr_statement put = hr__statement_start(
        ledger, HR_SQL_ADD_BAG,
        "INSERT INTO bag (card, card_name, job, volume, disks, mount_point, path_on_volume)"
        " VALUES ((SELECT id FROM card WHERE identity = ?), ?, ?, ?, ?, ?, ?)"
        " ON CONFLICT (volume, path_on_volume) DO UPDATE SET card = excluded.card, card_name = excluded.card_name,"
        " job = excluded.job, disks = excluded.disks, mount_point = excluded.mount_point RETURNING id");
    const char *const strings[BAG_STRINGS] = {bag->card_identity, bag->card_name,   bag->job,           bag->volume,
                                              bag->disks,         bag->mount_point, bag->path_on_volume};
    for (size_t i = 0; i < BAG_STRINGS; i++)
        hr__statement_bind_bytes(&put, strings[i]);
    if (hr__statement_row(&put))
        *id = hr__statement_number(&put, 0);
    return hr__statement_run(&put, fault);
}

enum hr_status hr_ledger_add_bag(int64_t *id, struct hr_ledger *ledger, const struct hr_ledger_bag *bag,
                                 struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    if (status != HR_OK)
        return status;
    int64_t given = 0;
    status = hr__ledger_step_end(ledger, put_bag(&given, ledger, bag, fault), fault);
    if (status == HR_OK)
        *id = given;
    return status;
}

enum hr_status hr_ledger_find_bag(int64_t *id, struct hr_ledger *ledger, const char *volume, const char *path_on_volume,
                                  struct hr_fault *fault)
{
    struct hr_statement find =
        hr__statement_start(ledger, HR_SQL_FIND_BAG, "SELECT id FROM bag WHERE volume = ? AND path_on_volume = ?");
    hr__statement_bind_bytes(&find, volume);
    hr__statement_bind_bytes(&find, path_on_volume);
    *id = hr__statement_row(&find) ? hr__statement_number(&find, 0) : 0;
    return hr__statement_finish(&find, fault);
}

enum hr_status hr_ledger_knows_mount_point(bool *out, struct hr_ledger *ledger, const char *mount_point,
                                           struct hr_fault *fault)
{
    struct hr_statement find =
        hr__statement_start(ledger, HR_SQL_KNOWS_MOUNT_POINT, "SELECT 1 FROM bag WHERE mount_point = ? LIMIT 1");
    hr__statement_bind_bytes(&find, mount_point);
    *out = hr__statement_row(&find);
    return hr__statement_finish(&find, fault);
}

/* Copied out, so that no read stays open in the file while the caller looks at them. */
static void keep_strings(size_t starts[BAG_STRINGS], struct hr_text *kept, struct hr_statement *row)
{
    for (int i = 0; i < BAG_STRINGS; i++) {
        const char *string = hr__statement_string(row, i);
        starts[i] = kept->size;
        hr__text_append_bytes(kept, string, strlen(string) + 1);
    }
}

enum hr_status hr_ledger_bag(struct hr_ledger_bag *out, struct hr_ledger *ledger, int64_t id, struct hr_fault *fault)
{
    struct hr_text *kept = &ledger->bag_strings;
    hr__text_clear(kept);
    size_t starts[BAG_STRINGS];
    struct hr_statement find =
        hr__statement_start(ledger, HR_SQL_BAG,
                            "SELECT card.identity, card_name, job, volume, disks, mount_point, path_on_volume"
                            " FROM bag JOIN card ON card.id = bag.card WHERE bag.id = ?");
    hr__statement_bind_number(&find, id);
    bool is_known = hr__statement_row(&find);
    if (is_known)
        keep_strings(starts, kept, &find);
    enum hr_status status = hr__statement_finish(&find, fault);
    if (status != HR_OK)
        return status;
    if (!is_known)
        return hr__ledger_says(ledger, HR_NOT_FOUND, "no such bag stands in the ledger ", "", fault);
    if (kept->broken)
        return hr__fault_nomem(fault, "a bag of the ledger");
    const char *text = kept->bytes;
    *out = (struct hr_ledger_bag){text + starts[0], text + starts[1], text + starts[2], text + starts[3],
                                  text + starts[4], text + starts[5], text + starts[6]};
    return HR_OK;
}
