/* SPDX-License-Identifier: ISC */
/* What an interrupted run left of a card in a place. */
#ifndef HR_OFFLOAD_INTERRUPTED_H
#define HR_OFFLOAD_INTERRUPTED_H

#include "offload/offload_state.h"

/* While preparing, nothing is written: the unfinished bag of this card becomes the delivery's, what it holds proven is
 * noted, what stands there unproven is marked to be read back, as all is of a card that may be another. A bag that does
 * not fit the card is left as it is. What a person must know becomes a warning or a refusal; HR_NOMEM and HR_TOO_LARGE
 * (drives) come back. */
HR_MUST_USE enum hr_status hr__interrupted_look(struct hr_offload *offload, struct hr_offload_card *card, size_t place,
                                                struct hr_fault *fault);
/* When the run begins: the bag is taken over and cleared of temporary files. What hr_bag_resume says. */
HR_MUST_USE enum hr_status hr__interrupted_take_over(const struct hr_offload_card *card, size_t place,
                                                     struct hr_fault *fault);

#endif
