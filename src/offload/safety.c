/* SPDX-License-Identifier: ISC */
#include "base/fault.h"
#include "offload/known.h"

static enum hr_status judge_card(struct hr_safety **out, const struct hr_card *card, struct hr_inventory *inventory,
                                 struct hr_ledger *ledger, const struct hr_look_observer *look,
                                 const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_known known;
    struct hr_look_up look_up = {
        .ledger = ledger, .card = card, .inventory = inventory, .look = look, .cancel = cancel};
    enum hr_status status = hr__known_init(&known, inventory->file_count, fault);
    if (!status)
        status = hr__known_look_up(&known, &look_up, fault);
    if (!status)
        status = hr__known_judge(out, &known, inventory, fault);
    hr__known_finish(&known);
    return status;
}

enum hr_status hr_safety_check(struct hr_safety **out, const char *card_path, const char *ledger_path,
                               const struct hr_look_observer *look, const struct hr_cancel *cancel,
                               struct hr_fault *fault)
{
    struct hr_card *card = NULL;
    struct hr_inventory *inventory = NULL;
    struct hr_ledger *ledger = NULL;
    enum hr_status status = hr_card_open(&card, card_path, fault);
    if (!status)
        status = hr_inventory_create(&inventory, card, cancel, fault);
    if (!status)
        status = hr_ledger_open_read_only(&ledger, ledger_path, fault);
    if (!status)
        status = judge_card(out, card, inventory, ledger, look, cancel, fault);
    hr_ledger_close(ledger);
    hr_inventory_destroy(inventory);
    hr_card_close(card);
    return status;
}
