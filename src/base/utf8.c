/* SPDX-License-Identifier: ISC */
#include "base/utf8.h"

/* RFC 3629 section 4: for each range of lead bytes the length and the range of the second byte. */
static const struct lead {
    unsigned char first, last, length, second_first, second_last;
} leads[] = {
    {0x00, 0x7F, 1, 0x00, 0x00}, {0xC2, 0xDF, 2, 0x80, 0xBF}, {0xE0, 0xE0, 3, 0xA0, 0xBF},
    {0xE1, 0xEC, 3, 0x80, 0xBF}, {0xED, 0xED, 3, 0x80, 0x9F}, {0xEE, 0xEF, 3, 0x80, 0xBF},
    {0xF0, 0xF0, 4, 0x90, 0xBF}, {0xF1, 0xF3, 4, 0x80, 0xBF}, {0xF4, 0xF4, 4, 0x80, 0x8F},
};

static const struct lead *find_lead(unsigned char byte)
{
    for (size_t i = 0; i < sizeof leads / sizeof *leads; i++) {
        if (byte >= leads[i].first && byte <= leads[i].last)
            return &leads[i];
    }
    return NULL;
}

size_t hr__utf8_length(const char *bytes, size_t size)
{
    const unsigned char *at = (const unsigned char *)bytes;
    const struct lead *lead = size ? find_lead(at[0]) : NULL;
    if (!lead || lead->length > size)
        return 0;
    if (lead->length > 1 && (at[1] < lead->second_first || at[1] > lead->second_last))
        return 0;
    for (size_t i = 2; i < lead->length; i++) {
        if ((at[i] & 0xC0) != 0x80)
            return 0;
    }
    return lead->length;
}

bool hr__utf8_is_valid(const char *bytes, size_t size)
{
    while (size) {
        size_t length = hr__utf8_length(bytes, size);
        if (!length)
            return false;
        bytes += length;
        size -= length;
    }
    return true;
}
