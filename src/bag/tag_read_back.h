/* SPDX-License-Identifier: ISC */
/* Proving a bag's own file: a drive that loses or bends what it is given would else be found out long afterwards, when
 * a manifest accuses a picture that is right. */
#ifndef HR_BAG_TAG_READ_BACK_H
#define HR_BAG_TAG_READ_BACK_H

#include "base/text.h"
#include "platform/folder.h"

/* Reads `name`, which was made durable, past the page cache where that can be. HR_DIFFERS when it does not hold the
 * text; what reading says. */
HR_MUST_USE enum hr_status hr__tag_read_back(const struct hr_folder *folder, const char *name,
                                             const struct hr_text *text, struct hr_fault *fault);

#endif
