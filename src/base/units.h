/* SPDX-License-Identifier: ISC */
/* Numbers as a person at arm's length reads them. MB and GB are powers of ten. All write into `out` and return it. */
#ifndef HR_BASE_UNITS_H
#define HR_BASE_UNITS_H

#include <stddef.h>
#include <stdint.h>

enum { HR_UNIT_TEXT_SIZE = 48 };

#define HR_NS_PER_S 1000000000LL

/* 0 -> "0 B", 999 -> "999 B", 61441 -> "61 kB", 4200000 -> "4.2 MB", 412000000 -> "412 MB", 2800000000 -> "2.80 GB",
 * 128e9 -> "128.0 GB", 1.2e12 -> "1.20 TB". */
char *hr__format_bytes(char out[HR_UNIT_TEXT_SIZE], uint64_t bytes);
/* "0 MB/s", "0.4 MB/s" below ten, "412 MB/s". */
char *hr__format_rate(char out[HR_UNIT_TEXT_SIZE], double bytes_per_s);
/* "0 s", "8 s", "59 s", "4 min 05 s", "1 h 02 min". Negative reads as 0. Rounded to the nearest second first. */
char *hr__format_duration(char out[HR_UNIT_TEXT_SIZE], int64_t ns);
/* 5000 -> "5,000". */
char *hr__format_count(char out[HR_UNIT_TEXT_SIZE], uint64_t count);
/* 1, "file" -> "1 file"; 5000, "file" -> "5,000 files"; 2, "entry" -> "2 entries". `noun` is one short English word
 * whose plural is made by adding s, or by ies in place of its y. */
char *hr__format_counted(char out[HR_UNIT_TEXT_SIZE], uint64_t count, const char *noun);

#endif
