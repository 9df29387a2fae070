/* SPDX-License-Identifier: ISC */
/* What sequences, their files and bodies are called. Times are a camera's own clock: no time zone is applied. */
#ifndef HR_SEQUENCE_NAMES_H
#define HR_SEQUENCE_NAMES_H

#include <stddef.h>
#include <stdint.h>

enum { HR_LETTERS_SIZE = 8, HR_LOCAL_TIME_SIZE = 40, HR_NUMBER_WIDTH = 4 };

/* 0 -> "A", 25 -> "Z", 26 -> "AA". */
char *hr__body_letters(char out[HR_LETTERS_SIZE], uint32_t body);
/* "2026-05-23 14:30:12.345", as spreadsheets take it. */
char *hr__local_time(char out[HR_LOCAL_TIME_SIZE], int64_t local_ns);

/* "20260523-143012_A_12f"; "20260523-143012_A_12f-2" for the second of that name. The caller frees; NULL: no memory. */
char *hr__sequence_name(int64_t start_local_ns, const char *body, size_t frame_count, unsigned repeat);

/* Digits for the numbers up to `last`, four or more. */
unsigned hr__number_width(size_t last);
/* "0001_NMA_0001.JPG". The caller frees; NULL: no memory. */
char *hr__numbered_name(size_t number, unsigned width, const char *camera_name);

#endif
