/* SPDX-License-Identifier: ISC */
#ifndef HR_SEQUENCE_SAME_CONTENT_H
#define HR_SEQUENCE_SAME_CONTENT_H

#include "sequence/delivered_state.h"

/* Are the bytes of both the same? By size and digest where these are known; else both files are read, and their XXH128
 * is kept with them. One that cannot be read is like no other. HR_CANCELLED, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__same_content(bool *out, struct hr_gathered_file *a, struct hr_gathered_file *b,
                                            const struct hr_cancel *cancel, struct hr_fault *fault);

#endif
