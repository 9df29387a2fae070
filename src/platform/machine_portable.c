/* SPDX-License-Identifier: ISC */
#include "platform/system.h"

void hr__variant_prefer_large_pages(void *memory, size_t size)
{
    (void)memory;
    (void)size;
}
