/* SPDX-License-Identifier: ISC */
/* The frames of one body in the order they were taken. The numbers of their names say it best (CIPA DC-009): a clock
 * may be set, and many count whole seconds alone. Numbers start again at 0001 after 9999, in a new folder, on another
 * card or on one that was erased, so they tell the order within a run only, and time tells the order of runs. */
#ifndef HR_SEQUENCE_FRAME_ORDER_H
#define HR_SEQUENCE_FRAME_ORDER_H

#include <headrace/sequence.h>

/* Puts the `count` indices at `order` into that order. HR_NOMEM. */
HR_MUST_USE enum hr_status hr__frames_order(uint32_t *order, size_t count, const struct hr_frame *frames,
                                            struct hr_fault *fault);
/* Does `next` come after `before` in the counting of one body, with at most some deleted between them? */
bool hr__counter_continues(unsigned before, unsigned next);

#endif
