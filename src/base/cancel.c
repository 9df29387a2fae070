/* SPDX-License-Identifier: ISC */
#include <headrace/cancel.h>

#include <stdatomic.h>
#include <stdlib.h>

struct hr_cancel {
    atomic_bool requested;
};

_Static_assert(ATOMIC_BOOL_LOCK_FREE == 2, "a signal handler sets the flag");

struct hr_cancel *hr_cancel_create(void)
{
    struct hr_cancel *cancel = malloc(sizeof *cancel);
    if (cancel)
        atomic_init(&cancel->requested, false);
    return cancel;
}

void hr_cancel_destroy(struct hr_cancel *cancel)
{
    free(cancel);
}

void hr_cancel_request(struct hr_cancel *cancel)
{
    if (cancel)
        atomic_store(&cancel->requested, true);
}

bool hr_cancel_requested(const struct hr_cancel *cancel)
{
    return cancel && atomic_load(&cancel->requested);
}
