/* SPDX-License-Identifier: ISC */
#include <sys/mman.h>

#include "platform/system.h"

void hr__variant_prefer_large_pages(void *memory, size_t size)
{
    (void)madvise(memory, size, MADV_HUGEPAGE);
}
