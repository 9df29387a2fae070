/* SPDX-License-Identifier: ISC */
#include "cli/svg.h"

#include <string.h>

#include "base/utf8.h"

void svg_begin(struct hr_text *out, int width, int height, const char *style)
{
    hr__text_printf(out,
                    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" viewBox=\"0 0 %d %d\" "
                    "font-family=\"sans-serif\" font-size=\"14\" fill=\"#222222\">\n"
                    "<style>.small{font-size:12px;fill:#555555}.grid{stroke:#dddddd}.base{stroke:#555555}%s</style>\n"
                    "<rect width=\"100%%\" height=\"100%%\" fill=\"#ffffff\"/>\n",
                    width, height, width, height, style);
}

/* U+FFFE and U+FFFF. */
static bool is_no_character(const char *bytes, size_t length)
{
    return length == 3 && (!memcmp(bytes, "\xef\xbf\xbe", 3) || !memcmp(bytes, "\xef\xbf\xbf", 3));
}

/* XML 1.0, section 2.2: what a document may not hold in any form becomes U+FFFD. */
static void put_character(struct hr_text *out, const char *bytes, size_t length)
{
    if (length == 0 || (unsigned char)*bytes < 0x20 || is_no_character(bytes, length))
        hr__text_append(out, "\xef\xbf\xbd");
    else if (*bytes == '&')
        hr__text_append(out, "&amp;");
    else if (*bytes == '<')
        hr__text_append(out, "&lt;");
    else if (*bytes == '>')
        hr__text_append(out, "&gt;");
    else
        hr__text_append_bytes(out, bytes, length);
}

static void put_escaped(struct hr_text *out, const char *text)
{
    for (size_t left = strlen(text), taken; left > 0; text += taken, left -= taken) {
        size_t length = hr__utf8_length(text, left);
        taken = length ? length : 1;
        put_character(out, text, length);
    }
}

void svg_text(struct hr_text *out, double x, double y, const char *attributes, const char *text)
{
    hr__text_printf(out, "<text x=\"%.1f\" y=\"%.1f\"%s%s>", x, y, *attributes ? " " : "", attributes);
    put_escaped(out, text);
    hr__text_append(out, "</text>\n");
}

void svg_end(struct hr_text *out)
{
    hr__text_append(out, "</svg>\n");
}
