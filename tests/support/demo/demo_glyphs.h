/* SPDX-License-Identifier: ISC */
/* Capital letters and digits, five dots wide and seven high, for shirts and boards. */
#ifndef DEMO_GLYPHS_H
#define DEMO_GLYPHS_H

#include <stdbool.h>

enum { DEMO_GLYPH_COLUMNS = 5, DEMO_GLYPH_ROWS = 7 };

bool demo_glyph_dot(char sign, int column, int row);

#endif
