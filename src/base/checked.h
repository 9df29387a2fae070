/* SPDX-License-Identifier: ISC */
/* Sums and products that say when they do not fit. */
#ifndef HR_BASE_CHECKED_H
#define HR_BASE_CHECKED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* True and *out set when the result fits; false and *out untouched otherwise. */
bool hr__add_u64(uint64_t *out, uint64_t a, uint64_t b);
bool hr__multiply_u64(uint64_t *out, uint64_t a, uint64_t b);
bool hr__add_size(size_t *out, size_t a, size_t b);
bool hr__multiply_size(size_t *out, size_t a, size_t b);

/* The whole of `text` as an unsigned decimal number up to `max`; no sign, no space. */
bool hr__parse_u64(uint64_t *out, const char *text, uint64_t max);
/* The same with a '-' before it or not, from -max to max; max >= 0. */
bool hr__parse_i64(int64_t *out, const char *text, int64_t max);
/* An unsigned number with a point and digits behind it, or before it, or both: "4", "2.5", ".5"; 15 digits at most. */
bool hr__parse_decimal(double *out, const char *text, double max);

#endif
