/* SPDX-License-Identifier: ISC */
#include "cli/bar.h"

#include <stdio.h>

void format_bar(char out[BAR_SIZE], double share, int columns, bool blocks)
{
    static const char *const eighths[] = {"", "\u258f", "\u258e", "\u258d", "\u258c", "\u258b", "\u258a", "\u2589"};
    int parts = (int)(share * columns * 8 + 0.5), at = 0;
    int full = blocks ? parts / 8 : (parts + 4) / 8;
    for (int i = 0; i < full; i++)
        at += snprintf(out + at, 4, "%s", blocks ? "\u2588" : "#");
    snprintf(out + at, 4, "%s", blocks ? eighths[parts % 8] : full == 0 ? "." : "");
}
