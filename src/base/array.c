/* SPDX-License-Identifier: ISC */
#include "base/array.h"

#include <stdlib.h>
#include <string.h>

#include "base/checked.h"

enum { FIRST_CAPACITY = 16 };

static size_t grown(size_t capacity, size_t needed, size_t ceiling)
{
    size_t wanted = FIRST_CAPACITY;
    if (!hr__add_size(&wanted, capacity, capacity / 2))
        wanted = needed;
    if (wanted < FIRST_CAPACITY)
        wanted = FIRST_CAPACITY;
    if (wanted < needed)
        wanted = needed;
    return wanted < ceiling ? wanted : ceiling;
}

bool hr__array_reserve(void *items, size_t *capacity, size_t needed, size_t item_size, size_t ceiling)
{
    if (needed <= *capacity)
        return true;
    size_t wanted = grown(*capacity, needed, ceiling), bytes;
    if (needed > ceiling || !hr__multiply_size(&bytes, wanted, item_size))
        return false;
    /* `items` is the address of a pointer to any type: only its bytes may be moved. */
    void *memory;
    memcpy(&memory, items, sizeof memory);
    memory = realloc(memory, bytes);
    if (!memory)
        return false;
    memset((char *)memory + *capacity * item_size, 0, (wanted - *capacity) * item_size);
    memcpy(items, &memory, sizeof memory);
    *capacity = wanted;
    return true;
}
