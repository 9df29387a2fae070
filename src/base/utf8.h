/* SPDX-License-Identifier: ISC */
/* Well-formed UTF-8 as RFC 3629 has it: no overlong form, no surrogate, nothing past U+10FFFF. */
#ifndef HR_BASE_UTF8_H
#define HR_BASE_UTF8_H

#include <stdbool.h>
#include <stddef.h>

/* Length 1-4 of the well-formed character at `bytes`, 0 when there is none within `size`. */
size_t hr__utf8_length(const char *bytes, size_t size);
bool hr__utf8_is_valid(const char *bytes, size_t size);

#endif
