/* SPDX-License-Identifier: ISC */
#ifndef DEMO_FAIL_H
#define DEMO_FAIL_H

#include <stddef.h>

/* Says what went wrong on stderr and ends the builder with status 1: a half-built demo card is of no use to anyone. */
_Noreturn void demo_fail(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* As demo_fail, with the text of errno appended. */
_Noreturn void demo_fail_errno(const char *what, const char *path);
/* `count` zeroed items, or demo_fail. The caller frees them with free(). */
void *demo_allocate(size_t count, size_t size_bytes);

#endif
