/* SPDX-License-Identifier: ISC */
#include <headrace/status.h>

#include <stddef.h>

static const char *const names[] = {
    [HR_OK] = "ok",
    [HR_NOMEM] = "no memory",
    [HR_INVALID] = "invalid",
    [HR_NOT_FOUND] = "not found",
    [HR_EXISTS] = "exists",
    [HR_DENIED] = "denied",
    [HR_READ_ONLY] = "read only",
    [HR_FULL] = "full",
    [HR_TOO_LARGE] = "too large",
    [HR_GONE] = "gone",
    [HR_IO] = "device error",
    [HR_DIFFERS] = "differs",
    [HR_MALFORMED] = "malformed",
    [HR_UNSUPPORTED] = "unsupported",
    [HR_REFUSED] = "refused",
    [HR_BUSY] = "busy",
    [HR_CANCELLED] = "cancelled",
};

const char *hr_status_name(enum hr_status status)
{
    size_t i = (size_t)status;
    return i < sizeof names / sizeof *names ? names[i] : "unknown";
}

void hr_fault_clear(struct hr_fault *fault)
{
    if (fault)
        *fault = (struct hr_fault){0};
}

const char *hr_version(void)
{
    return HR_VERSION_TEXT;
}
