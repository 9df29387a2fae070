/* SPDX-License-Identifier: ISC */
/* Wall times as text. */
#ifndef HR_CLI_WHEN_H
#define HR_CLI_WHEN_H

#include <stdint.h>

enum { CLI_WHEN_SIZE = 40 };

/* "2031-05-17 14:32" on the local clock, for a person. */
char *cli_when_local(char out[CLI_WHEN_SIZE], int64_t wall_ns);
/* "14:32", or with the day where that is another than at `now_wall_ns`. */
const char *cli_when_from(char out[CLI_WHEN_SIZE], int64_t wall_ns, int64_t now_wall_ns);
/* "2031-05-17T12:32:10Z" (RFC 3339), for programs. */
char *cli_when_utc(char out[CLI_WHEN_SIZE], int64_t wall_ns);

/* Of a camera's own clock, in nanoseconds since 1970-01-01 00:00:00 there: "2031-05-17", "14:32:10". */
char *cli_when_date(char out[CLI_WHEN_SIZE], int64_t local_ns);
char *cli_when_clock(char out[CLI_WHEN_SIZE], int64_t local_ns);
/* "2031-05-17T14:32:10.120" (ISO 8601); three digits of a second, or six or nine where the time has them. */
char *cli_when_camera(char out[CLI_WHEN_SIZE], int64_t local_ns);
/* The same with the offset from UTC: "2031-05-17T14:32:10.120+02:00". */
char *cli_when_camera_offset(char out[CLI_WHEN_SIZE], int64_t local_ns, int offset_minutes);

#endif
