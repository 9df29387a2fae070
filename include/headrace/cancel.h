/* SPDX-License-Identifier: ISC */
/* One flag that asks a running job to stop. It is handed down to every long call, which answers within a block or two
 * with HR_CANCELLED. NULL is allowed wherever a cancel is taken and means: never. */
#ifndef HEADRACE_CANCEL_H
#define HEADRACE_CANCEL_H

#include <stdbool.h>

#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

struct hr_cancel;

/* NULL when memory is out. Destroy takes NULL. */
HR_API struct hr_cancel *hr_cancel_create(void);
HR_API void hr_cancel_destroy(struct hr_cancel *cancel);

/* Safe from a signal handler and from any thread; cannot be taken back. */
HR_API void hr_cancel_request(struct hr_cancel *cancel);
HR_API bool hr_cancel_requested(const struct hr_cancel *cancel);

#ifdef __cplusplus
}
#endif
#endif
