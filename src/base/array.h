/* SPDX-License-Identifier: ISC */
/* Growing arrays: `struct thing *things; size_t thing_count, thing_capacity;` stand in the owner, this grows them. */
#ifndef HR_BASE_ARRAY_H
#define HR_BASE_ARRAY_H

#include <stdbool.h>
#include <stddef.h>

/* Makes room for at least `needed` items of `item_size` bytes, growing by half. `items` is the address of the array
 * pointer. False, and all as before, when memory is out or `needed` passes `ceiling`. New items are zeroed. */
bool hr__array_reserve(void *items, size_t *capacity, size_t needed, size_t item_size, size_t ceiling);

#endif
