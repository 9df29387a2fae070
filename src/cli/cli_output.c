/* SPDX-License-Identifier: ISC */
#include "cli/cli_output.h"

#include <errno.h>
#include <stdarg.h>
#include <string.h>

enum { BLOCK_BYTES = 64 * 1024, TEXT_CEILING_BYTES = 64 * 1024 * 1024 };

void cli_output_init(struct cli_output *output, FILE *stream, bool colour)
{
    *output = (struct cli_output){.stream = stream, .colour = colour};
    hr__text_init(&output->text, TEXT_CEILING_BYTES);
}

void cli_output_flush(struct cli_output *output)
{
    struct hr_text *text = &output->text;
    if (text->broken && !output->error)
        output->error = ENOMEM;
    if (!output->stream)
        return;
    errno = 0;
    bool written = fwrite(text->bytes, 1, text->size, output->stream) == text->size && fflush(output->stream) == 0;
    if (!written && !output->error)
        output->error = errno ? errno : EIO;
    hr__text_clear(text);
}

static void drain(struct cli_output *output)
{
    if (output->error)
        hr__text_clear(&output->text);
    else if (output->text.size >= BLOCK_BYTES || output->text.broken)
        cli_output_flush(output);
}

void cli_output_append(struct cli_output *output, const char *string)
{
    hr__text_append(&output->text, string);
    drain(output);
}

void cli_output_printf(struct cli_output *output, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    hr__text_vprintf(&output->text, format, arguments);
    va_end(arguments);
    drain(output);
}

void cli_output_name_bytes(struct cli_output *output, const char *name, size_t size)
{
    hr__text_append_name(&output->text, name, size);
    drain(output);
}

void cli_output_name(struct cli_output *output, const char *name)
{
    cli_output_name_bytes(output, name, strlen(name));
}

const char *cli_paint_sequence(enum cli_paint paint)
{
    static const char *const sequences[] = {
        [CLI_PLAIN] = "\033[0m",  [CLI_STRONG] = "\033[1m", [CLI_GOOD] = "\033[1;32m",
        [CLI_BAD] = "\033[1;31m", [CLI_FAINT] = "\033[2m",
    };
    return sequences[paint];
}

void cli_output_painted(struct cli_output *output, enum cli_paint paint, const char *string)
{
    bool painted = output->colour && paint != CLI_PLAIN;
    if (painted)
        hr__text_append(&output->text, cli_paint_sequence(paint));
    hr__text_append(&output->text, string);
    if (painted)
        hr__text_append(&output->text, cli_paint_sequence(CLI_PLAIN));
    drain(output);
}

bool cli_output_finish(struct cli_output *output)
{
    if (!output->error)
        cli_output_flush(output);
    hr__text_finish(&output->text);
    return output->error == 0 || output->error == EPIPE;
}
