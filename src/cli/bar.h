/* SPDX-License-Identifier: ISC */
/* A bar of so many columns in a line of text. */
#ifndef HR_CLI_BAR_H
#define HR_CLI_BAR_H

#include <stdbool.h>

enum { BAR_COLUMNS_MAX = 40, BAR_SIZE = 4 * BAR_COLUMNS_MAX + 4 };

/* Filled to `share` of `columns`. `blocks`: in eighths of a column, by block characters; else of '#', and a share too
 * small to show is a '.'. */
void format_bar(char out[BAR_SIZE], double share, int columns, bool blocks);

#endif
