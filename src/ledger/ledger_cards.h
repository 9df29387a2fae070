/* SPDX-License-Identifier: ISC */
/* Cards, which bags and files refer to. */
#ifndef HR_LEDGER_CARDS_H
#define HR_LEDGER_CARDS_H

#include <headrace/status.h>

struct hr_ledger;

/* Knows the card from now on; part of the caller's step. */
HR_MUST_USE enum hr_status hr__ledger_add_card(struct hr_ledger *ledger, const char *identity, struct hr_fault *fault);

#endif
