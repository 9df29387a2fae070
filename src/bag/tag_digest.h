/* SPDX-License-Identifier: ISC */
/* The digest of one tag file, read plainly. */
#ifndef HR_BAG_TAG_DIGEST_H
#define HR_BAG_TAG_DIGEST_H

#include <headrace/digest.h>

#include "platform/folder.h"

/* HR_NOT_FOUND, HR_UNSUPPORTED (a link or no regular file) and what reading says. */
HR_MUST_USE enum hr_status hr__tag_digest(struct hr_digest *out, enum hr_digest_kind kind,
                                          const struct hr_folder *folder, const char *name, struct hr_fault *fault);

#endif
