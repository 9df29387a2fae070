/* SPDX-License-Identifier: ISC */
/* Wall times as text. */
#ifndef HR_CLI_WHEN_H
#define HR_CLI_WHEN_H

#include <stdint.h>

enum { CLI_WHEN_SIZE = 40 };

/* "2031-05-17 14:32" on the local clock, for a person. */
char *cli_when_local(char out[CLI_WHEN_SIZE], int64_t wall_ns);
/* "2031-05-17T12:32:10Z" (RFC 3339), for programs. */
char *cli_when_utc(char out[CLI_WHEN_SIZE], int64_t wall_ns);

#endif
