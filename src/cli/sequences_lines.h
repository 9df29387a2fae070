/* SPDX-License-Identifier: ISC */
/* The screen of `sequences`: a line a sequence, so that the busiest plays meet the eye. */
#ifndef HR_CLI_SEQUENCES_LINES_H
#define HR_CLI_SEQUENCES_LINES_H

#include "cli/cli_output.h"
#include "cli/sequences_facts.h"

/* Under a heading a job and day; a line more where there was a pause. `blocks`: bars of block characters, else of '#'.
 */
void sequences_lines(struct cli_output *out, const struct sequences_found *found, const struct sequences_facts *facts,
                     bool blocks);

#endif
