/* SPDX-License-Identifier: ISC */
#include "demo_fail.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

_Noreturn void demo_fail(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fputs("demo_card: ", stderr);
    vfprintf(stderr, format, arguments);
    fputc('\n', stderr);
    va_end(arguments);
    exit(1);
}

_Noreturn void demo_fail_errno(const char *what, const char *path)
{
    demo_fail("%s %s: %s", what, path, strerror(errno));
}

void *demo_allocate(size_t count, size_t size_bytes)
{
    void *items = calloc(count ? count : 1, size_bytes);
    if (!items)
        demo_fail("out of memory");
    return items;
}
