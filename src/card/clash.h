/* SPDX-License-Identifier: ISC */
/* Paths that cannot stand beside each other: the same twice, or one that is the folder of another. */
#ifndef HR_CARD_CLASH_H
#define HR_CARD_CLASH_H

#include <stdbool.h>

/* Bytes in order, '/' before all others, so that in a sorted list a path stands right before all that is below it. */
int hr__clash_compare(const char *a, const char *b);
/* Is `outer` the folder `inner` stands in, at any depth? */
bool hr__clash_is_folder_of(const char *outer, const char *inner);

#endif
