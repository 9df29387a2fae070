/* SPDX-License-Identifier: ISC */
/* An inventory while it is being made: a store's walk adds files and skips in any order; names that clash, frames and
 * order are seen to afterwards. */
#ifndef HR_CARD_INVENTORY_DRAFT_H
#define HR_CARD_INVENTORY_DRAFT_H

#include <headrace/card.h>

struct hr_inventory_draft;

/* `file->path` is copied; kind and frame are set here. HR_NOMEM, HR_TOO_LARGE. */
HR_MUST_USE enum hr_status hr__draft_add_file(struct hr_inventory_draft *draft, const struct hr_card_file *file,
                                              struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__draft_add_skip(struct hr_inventory_draft *draft, const char *path,
                                              enum hr_card_skip_reason reason, enum hr_status status,
                                              struct hr_fault *fault);
/* Folders are not kept; that there is a DCIM at the root is. */
void hr__draft_note_folder(struct hr_inventory_draft *draft, const char *path);

#endif
