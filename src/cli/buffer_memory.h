/* SPDX-License-Identifier: ISC */
/* Buffers between `buffer from`, which finds them, and `buffer plan`, which needs one: in the ledger. */
#ifndef HR_CLI_BUFFER_MEMORY_H
#define HR_CLI_BUFFER_MEMORY_H

#include "cli/buffer_groups.h"

/* `ledger` is a path; NULL: the user's own. As hr_ledger_open() and hr_ledger_add_buffer(). */
HR_MUST_USE enum hr_status buffer_remember(const char *ledger, const struct buffer_groups *groups,
                                           struct hr_fault *fault);

enum { BUFFER_SOURCE_SIZE = 512 };
/* The buffer of the body that was shot last and has a depth, and where it comes from, fit to be shown. HR_NOT_FOUND,
 * with a sentence, when none is known. */
HR_MUST_USE enum hr_status buffer_recall(struct hr_buffer *out, char source[BUFFER_SOURCE_SIZE], const char *ledger,
                                         const char *body, struct hr_fault *fault);

#endif
