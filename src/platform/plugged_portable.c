/* SPDX-License-Identifier: ISC */
#include "platform/plugged.h"

#include "base/fault.h"

enum hr_status hr__plugged_list(struct hr_plugged **out, size_t *count, const struct hr_system_roots *roots,
                                struct hr_fault *fault)
{
    (void)out;
    (void)count;
    (void)roots;
    return hr__fault_set(fault, HR_UNSUPPORTED, 0, "this build cannot tell which devices are plugged in");
}

bool hr__plugged_has_volume(const char *identity, const struct hr_system_roots *roots)
{
    (void)identity;
    (void)roots;
    return false;
}

void hr__plugged_free(struct hr_plugged *disks, size_t count)
{
    (void)disks;
    (void)count;
}
