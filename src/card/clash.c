/* SPDX-License-Identifier: ISC */
#include "card/clash.h"

#include <string.h>

static int weight(char byte)
{
    return byte == '/' ? 1 : byte ? (unsigned char)byte + 1 : 0;
}

int hr__clash_compare(const char *a, const char *b)
{
    while (*a && *a == *b) {
        a++;
        b++;
    }
    return weight(*a) - weight(*b);
}

bool hr__clash_is_folder_of(const char *outer, const char *inner)
{
    size_t length = strlen(outer);
    return !strncmp(outer, inner, length) && inner[length] == '/';
}
