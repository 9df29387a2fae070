/* SPDX-License-Identifier: ISC */
/* Writing faults. Reading them is <headrace/status.h>. */
#ifndef HR_BASE_FAULT_H
#define HR_BASE_FAULT_H

#include <stdarg.h>

#include <headrace/status.h>

/* Records `status` and the text unless `fault` already holds a cause or is NULL; returns `status` either way, so that
 * a failing function ends in `return hr__fault_set(fault, HR_FULL, 0, "...")`. `system_error` is an errno or 0; when
 * it is not 0, ": " and its message in the C locale are appended. */
HR_PRINTF(4, 5)
enum hr_status hr__fault_set(struct hr_fault *fault, enum hr_status status, int system_error, const char *format, ...);

/* As hr__fault_set with "WHAT PATH", the path escaped: hr__fault_path(fault, HR_GONE, error, "cannot read", path). */
enum hr_status hr__fault_path(struct hr_fault *fault, enum hr_status status, int system_error, const char *what,
                              const char *path);

/* As hr__fault_set with "PATH: ...", the path escaped; what the format takes must be fit to be shown. */
HR_PRINTF(4, 5)
enum hr_status hr__fault_about(struct hr_fault *fault, enum hr_status status, const char *path, const char *format,
                               ...);

/* "no memory for WHAT". Here, so that whoever compiles or analyses a caller sees that it is not HR_OK. */
static inline enum hr_status hr__fault_nomem(struct hr_fault *fault, const char *what)
{
    (void)hr__fault_set(fault, HR_NOMEM, 0, "no memory for %s", what);
    return HR_NOMEM;
}

#endif
