/* SPDX-License-Identifier: ISC */
/* What measurements and forecasts are noted as. */
#ifndef HR_LEDGER_FIGURES_H
#define HR_LEDGER_FIGURES_H

#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

struct hr_ledger;

/* Can the ledger take figures, and these? HR_READ_ONLY when its tables are of before `version`, HR_INVALID when one is
 * not finite or below 0. */
HR_MUST_USE enum hr_status hr__figures_check(const struct hr_ledger *ledger, int64_t version, const double *figures,
                                             size_t count, struct hr_fault *fault);

#endif
