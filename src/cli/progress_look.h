/* SPDX-License-Identifier: ISC */
/* Shows how far the looking at cards is, for commands that ask which of a card's files are known. */
#ifndef HR_CLI_PROGRESS_LOOK_H
#define HR_CLI_PROGRESS_LOOK_H

#include <headrace/offload.h>

#include "cli/progress.h"

struct look_shown {
    struct progress *progress;
    const char *card; /* shown last */
    enum hr_look_purpose purpose;
};
/* For a struct hr_look_observer; `context` is a struct look_shown. */
void look_show(void *context, const struct hr_look_progress *look);

#endif
