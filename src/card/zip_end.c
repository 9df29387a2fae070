/* SPDX-License-Identifier: ISC */
#include "card/zip_end.h"

#include <string.h>

enum { END_BYTES = 22, COUNT_AT = 10, IN_ZIP64 = 0xffff };

bool hr__zip_end_count(uint16_t *out, const unsigned char *tail, size_t size)
{
    for (size_t at = size < END_BYTES ? 0 : size - END_BYTES + 1; at-- > 0;) {
        if (memcmp(tail + at, "PK\5\6", 4) != 0)
            continue;
        *out = (uint16_t)(tail[at + COUNT_AT] | tail[at + COUNT_AT + 1] << 8);
        return *out != IN_ZIP64;
    }
    return false;
}
