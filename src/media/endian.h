/* SPDX-License-Identifier: ISC */
/* Numbers as files hold them. The caller has checked that the bytes are there. */
#ifndef HR_MEDIA_ENDIAN_H
#define HR_MEDIA_ENDIAN_H

#include <stdbool.h>
#include <stdint.h>

static inline uint16_t hr__read_16(const unsigned char *bytes, bool big_endian)
{
    return (uint16_t)(big_endian ? bytes[0] << 8 | bytes[1] : bytes[1] << 8 | bytes[0]);
}

static inline uint32_t hr__read_32(const unsigned char *bytes, bool big_endian)
{
    uint32_t first = hr__read_16(bytes, big_endian), second = hr__read_16(bytes + 2, big_endian);
    return big_endian ? first << 16 | second : second << 16 | first;
}

static inline uint64_t hr__read_64_big(const unsigned char *bytes)
{
    return (uint64_t)hr__read_32(bytes, true) << 32 | hr__read_32(bytes + 4, true);
}

#endif
