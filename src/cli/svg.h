/* SPDX-License-Identifier: ISC */
/* What all pictures have in common: white ground, one look of text, of axes (class "base"), grid lines (class "grid")
 * and notes (class "small"). Sizes are pixels. */
#ifndef HR_CLI_SVG_H
#define HR_CLI_SVG_H

#include "base/text.h"

/* `style`: rules of this picture alone. */
void svg_begin(struct hr_text *out, int width, int height, const char *style);
/* Characters of XML in `text` are escaped, and what XML cannot hold becomes U+FFFD; `attributes` stand as they are. */
void svg_text(struct hr_text *out, double x, double y, const char *attributes, const char *text);
void svg_end(struct hr_text *out);

#endif
