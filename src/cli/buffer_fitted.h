/* SPDX-License-Identifier: ISC */
/* A fit with the counts it came from, and what is said of it. */
#ifndef HR_CLI_BUFFER_FITTED_H
#define HR_CLI_BUFFER_FITTED_H

#include <headrace/buffer.h>

#include "base/text.h"
#include "cli/cli_output.h"
#include "cli/json_writer.h"
#include "cli/options.h"

struct buffer_fitted {
    struct hr_buffer_fit fit;
    struct hr_buffer_count counts[CLI_LIST_MAX];
    size_t count;
};

/* A sentence for each bit; NULL past the last. */
enum { BUFFER_CAUTION_SIZE = 160 };
const char *buffer_caution(char out[BUFFER_CAUTION_SIZE], const struct buffer_fitted *fitted, unsigned index);

/* `line_only`: --quiet. */
void buffer_fit_text(struct cli_output *out, const struct buffer_fitted *fitted, bool line_only);
void buffer_fit_json(struct json_writer *json, const struct buffer_fitted *fitted);

#endif
