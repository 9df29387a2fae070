/* SPDX-License-Identifier: ISC */
/* The timeline of a match as SVG 1.1: a lane a body, a bar a burst as high as its cadence, stalls, pauses. A panel a
 * match: a pause of three hours begins a new one. The same sequences give the same bytes. */
#ifndef HR_CLI_SEQUENCES_SVG_H
#define HR_CLI_SEQUENCES_SVG_H

#include "base/text.h"
#include "cli/sequences_facts.h"

void sequences_svg(struct hr_text *out, const struct sequences_found *found);

#endif
