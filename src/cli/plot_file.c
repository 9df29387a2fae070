/* SPDX-License-Identifier: ISC */
#include "cli/plot_file.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#include <headrace/name.h>

#include "cli/cli.h"

enum { CEILING_BYTES = 16 * 1024 * 1024 };

bool plot_file_write(const char *path, void (*draw)(struct hr_text *out, const void *picture), const void *picture)
{
    char shown[HR_FAULT_TEXT_SIZE];
    hr_escape_name(shown, sizeof shown, path, strlen(path));
    errno = 0;
    FILE *file = fopen(path, "wx");
    if (!file) {
        cli_complain("cannot make %s: %s", shown, strerror(errno));
        return false;
    }
    struct cli_output out;
    cli_output_init(&out, file, false);
    hr__text_finish(&out.text);
    hr__text_init(&out.text, CEILING_BYTES);
    draw(&out.text, picture);
    bool written = cli_output_finish(&out);
    written = fclose(file) == 0 && written;
    if (!written) {
        cli_complain("cannot write %s: %s", shown, strerror(out.error ? out.error : EIO));
        remove(path);
    }
    return written;
}
