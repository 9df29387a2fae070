/* SPDX-License-Identifier: ISC */
/* The machine and the user's corner of it. */
#ifndef HR_PLATFORM_MACHINE_H
#define HR_PLATFORM_MACHINE_H

#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

size_t hr__processor_count(void);
/* Memory on a page border, fit for direct access; NULL when memory is out. hr__aligned_free takes NULL. Where it is
 * large it lies in large pages if the system has them: a device is then sent one long request, and not several that a
 * list of many single pages is too long for. */
void *hr__aligned_alloc(size_t size);
void hr__aligned_free(void *memory);
/* "unknown" when the system does not tell; always NUL-terminated. */
void hr__host_name(char *out, size_t out_size);
/* $XDG_STATE_HOME/headrace or ~/.local/state/headrace; the caller frees. HR_NOT_FOUND when neither variable is set. */
HR_MUST_USE enum hr_status hr__state_folder(char **out, struct hr_fault *fault);

#endif
