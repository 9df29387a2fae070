/* SPDX-License-Identifier: ISC */
/* A page to print and tape to the monopod: frames and seconds at each rate, until full and until three quarters. */
#ifndef HR_CLI_BUFFER_CARD_SVG_H
#define HR_CLI_BUFFER_CARD_SVG_H

#include <stdbool.h>

#include "base/text.h"
#include "cli/buffer_rates.h"

struct buffer_card {
    struct hr_buffer buffer;
    struct buffer_rates rates;
};

/* Rates at which it fills within a hold: none, nothing to print. */
size_t buffer_card_rows(const struct buffer_card *card);
/* Draws it into the new file, or complains; false when that could not be done. */
bool buffer_card_write(const char *path, const struct buffer_card *card);
void buffer_card_svg(struct hr_text *out, const struct buffer_card *card);

#endif
