/* SPDX-License-Identifier: ISC */
/* Results on their way to a stream, in blocks; the first failed write is kept and later text dropped.
 *
 * cli_output_init, any number of appends, cli_output_finish, whose answer belongs in the exit status. With a NULL
 * stream everything stays in `text` (for tests). */
#ifndef HR_CLI_CLI_OUTPUT_H
#define HR_CLI_CLI_OUTPUT_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "base/text.h"

struct cli_output {
    FILE *stream;
    bool colour; /* escape sequences may be written */
    int error;   /* errno of the first failed write */
    struct hr_text text;
};

enum cli_paint { CLI_PLAIN, CLI_STRONG, CLI_GOOD, CLI_BAD, CLI_FAINT };

void cli_output_init(struct cli_output *output, FILE *stream, bool colour);
void cli_output_append(struct cli_output *output, const char *string);
HR_PRINTF(2, 3) void cli_output_printf(struct cli_output *output, const char *format, ...);
/* A name of bytes, escaped (<headrace/name.h>). */
void cli_output_name(struct cli_output *output, const char *name);
void cli_output_name_bytes(struct cli_output *output, const char *name, size_t size);
/* Appends the text in that paint; plain where there is no colour. */
void cli_output_painted(struct cli_output *output, enum cli_paint paint, const char *string);
/* Everything so far reaches the stream now. */
void cli_output_flush(struct cli_output *output);
/* Flushes and frees. False when something could not be written; a reader that has gone away is no failure. */
bool cli_output_finish(struct cli_output *output);

/* The escape sequence that begins the paint; CLI_PLAIN ends any. */
const char *cli_paint_sequence(enum cli_paint paint);

#endif
