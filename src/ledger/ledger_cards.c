/* SPDX-License-Identifier: ISC */
#include "ledger/ledger_cards.h"

#include "ledger/statement.h"

enum hr_status hr__ledger_add_card(struct hr_ledger *ledger, const char *identity, struct hr_fault *fault)
{
    struct hr_statement add =
        hr__statement_start(ledger, HR_SQL_ADD_CARD, "INSERT INTO card (identity) VALUES (?) ON CONFLICT DO NOTHING");
    hr__statement_bind_bytes(&add, identity);
    return hr__statement_run(&add, fault);
}
