/* SPDX-License-Identifier: ISC */
#ifndef HR_CARD_FRAMES_H
#define HR_CARD_FRAMES_H

#include <headrace/card.h>

/* Groups the files of `inventory` into frames and lays both out in capture order. No path stands there twice.
 * HR_NOMEM. */
HR_MUST_USE enum hr_status hr__frames_arrange(struct hr_inventory *inventory, struct hr_fault *fault);

#endif
