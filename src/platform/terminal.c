/* SPDX-License-Identifier: ISC */
#include "platform/terminal.h"

#include <langinfo.h>
#include <locale.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

static bool is_terminal(FILE *stream)
{
    return isatty(fileno(stream)) == 1;
}

void hr__terminal_size(int *columns, int *rows, FILE *stream)
{
    struct winsize size = {0};
    bool known = ioctl(fileno(stream), TIOCGWINSZ, &size) == 0;
    *columns = known && size.ws_col ? size.ws_col : 80;
    *rows = known && size.ws_row ? size.ws_row : 24;
}

static bool is_set(const char *name)
{
    const char *value = getenv(name);
    return value && *value;
}

static bool is_set_to(const char *name, const char *wanted)
{
    const char *value = getenv(name);
    return value && strcmp(value, wanted) == 0;
}

bool hr__terminal_has_colour(FILE *stream)
{
    if (is_set("NO_COLOR"))
        return false;
    if (is_set("CLICOLOR_FORCE") && !is_set_to("CLICOLOR_FORCE", "0"))
        return true;
    return !is_set_to("CLICOLOR", "0") && !is_set_to("TERM", "dumb") && is_terminal(stream);
}

bool hr__terminal_can_move(FILE *stream)
{
    return is_set("TERM") && !is_set_to("TERM", "dumb") && is_terminal(stream);
}

bool hr__terminal_takes_utf8(void)
{
    locale_t locale = newlocale(LC_CTYPE_MASK, "", (locale_t)0);
    bool is_utf8 = locale && strcmp(nl_langinfo_l(CODESET, locale), "UTF-8") == 0;
    if (locale)
        freelocale(locale);
    return is_utf8;
}
