/* SPDX-License-Identifier: ISC */
/* A run's rates over time as an SVG 1.1 picture: one panel for the cards and one a place, all on one scale, what held
 * the run up named in the title and filled in. On white, told apart by dashes and words as well as by colour. */
#ifndef HR_CLI_PLOT_SVG_H
#define HR_CLI_PLOT_SVG_H

#include "base/text.h"
#include "cli/run_history.h"

void plot_svg(struct hr_text *out, const struct run_history *history);

#endif
