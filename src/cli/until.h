/* SPDX-License-Identifier: ISC */
/* When something has to be done by, as a person says it. */
#ifndef HR_CLI_UNTIL_H
#define HR_CLI_UNTIL_H

#include <stdbool.h>
#include <stdint.h>

/* "90s", "12min", "1.5h": so long from now; "15:42": when it is that time here, tomorrow if that has passed today. In
 * seconds from `now_wall_ns`, above 0 and up to a day. */
bool cli_until_parse(double *seconds, const char *typed, int64_t now_wall_ns);
/* Wall time now. */
int64_t cli_until_now_ns(void);

#endif
