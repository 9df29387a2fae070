/* SPDX-License-Identifier: ISC */
#include "ledger/figures.h"

#include <math.h>

#include "base/fault.h"
#include "ledger/handle.h"
#include "ledger/ledger_fault.h"

enum hr_status hr__figures_check(const struct hr_ledger *ledger, int64_t version, const double *figures, size_t count,
                                 struct hr_fault *fault)
{
    if (ledger->version < version)
        return hr__ledger_fault(ledger, SQLITE_READONLY, fault);
    for (size_t i = 0; i < count; i++)
        if (!isfinite(figures[i]) || figures[i] < 0)
            return hr__fault_set(fault, HR_INVALID, 0, "a rate or time that is not finite or below 0 is not noted");
    return HR_OK;
}
