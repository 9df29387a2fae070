/* SPDX-License-Identifier: ISC */
#include "cli/svg.h"

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

static void put_escaped(struct hr_text *out, const char *text)
{
    for (; *text; text++) {
        const char *entity = *text == '&' ? "&amp;" : *text == '<' ? "&lt;" : *text == '>' ? "&gt;" : NULL;
        if (entity)
            hr__text_append(out, entity);
        else
            hr__text_append_bytes(out, text, 1);
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
