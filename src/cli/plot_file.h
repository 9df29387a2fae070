/* SPDX-License-Identifier: ISC */
/* A picture as a file. */
#ifndef HR_CLI_PLOT_FILE_H
#define HR_CLI_PLOT_FILE_H

#include <stdbool.h>

#include "base/text.h"

/* Makes the file, which must not exist, and has `picture` drawn into it. False, after a complaint, when that cannot be
 * done; then no file is left. */
bool plot_file_write(const char *path, void (*draw)(struct hr_text *out, const void *picture), const void *picture);

#endif
