/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "base/units.h"
#include "cli/measure_report.h"
#include "cli/plot_scale.h"
#include "cli/svg.h"

/* Pixels. */
enum { WIDTH = 960, LEFT = 112, RIGHT = 200, TOP = 96, GROUP = 92, BAR = 24, BAR_APART = 30, AXIS = 44, LEGEND = 34 };
enum { TICKS_MAX = 6, NAME_COLUMNS = 60 };

static const char style[] = ".from{fill:#1b5e9e}.to{fill:#d2691e}.slowest{stroke:#ffffff;stroke-width:3}"
                            ".slow{stroke:#222222;stroke-width:1.5}.link{stroke:#b3290f;stroke-dasharray:5 3}";

struct bars {
    struct hr_text *out;
    double most, step; /* bytes a second */
};

static double x_of(const struct bars *bars, double rate)
{
    return LEFT + (WIDTH - LEFT - RIGHT) * rate / bars->most;
}

static void put_bar(const struct bars *bars, double y, const char *what, const char *class,
                    const struct hr_measured *measured)
{
    char rate[HR_UNIT_TEXT_SIZE], slowest[HR_UNIT_TEXT_SIZE], label[3 * HR_UNIT_TEXT_SIZE];
    double sustained = measure_sustained(measured), low = measured->slowest_second_bytes_per_s;
    svg_text(bars->out, LEFT - 10, y + 17, "text-anchor=\"end\" class=\"small\"", what);
    if (measured->bytes == 0) {
        svg_text(bars->out, LEFT + 6, y + 17, "class=\"small\"", "not measured");
        return;
    }
    hr__text_printf(bars->out, "<rect class=\"%s\" x=\"%d\" y=\"%.1f\" width=\"%.1f\" height=\"%d\"/>\n", class, LEFT,
                    y, x_of(bars, sustained) - LEFT, BAR);
    if (low > 0) /* white within the bar, dark where it lies beyond its end */
        hr__text_printf(bars->out, "<path class=\"%s\" d=\"M%.1f %.1fv%d\"/>\n", low < sustained ? "slowest" : "slow",
                        x_of(bars, low), y, BAR);
    snprintf(label, sizeof label, "%s", hr__format_rate(rate, sustained));
    svg_text(bars->out, x_of(bars, sustained) + 8, y + 12, "font-weight=\"bold\"", label);
    if (low > 0)
        snprintf(label, sizeof label, "slowest second %s", hr__format_rate(slowest, low));
    if (low > 0)
        svg_text(bars->out, x_of(bars, sustained) + 8, y + 25, "class=\"small\"", label);
}

static bool shows_link(const struct bars *bars, const struct measure_row *row)
{
    double ceiling = row->measurement->link.ceiling_bytes_per_s;
    return ceiling > 0 && ceiling <= bars->most;
}

static void put_group(const struct bars *bars, double y, const struct measure_row *row)
{
    const struct hr_measurement *measurement = row->measurement;
    struct hr_measured from = measure_copy_from(row), to = measure_copy_to(row);
    char name[PEN_NAME_SIZE], line[PEN_NAME_SIZE + sizeof measurement->link.name + 16];
    pen_format_name(name, measurement->path, NAME_COLUMNS);
    bool has_link = measurement->link.ceiling_bytes_per_s > 0;
    snprintf(line, sizeof line, "%s %s%s%s", row->is_card ? "card" : "drive", name, has_link ? ", " : "",
             has_link ? measurement->link.name : "");
    svg_text(bars->out, LEFT, y, "font-weight=\"bold\"", line);
    put_bar(bars, y + 8, "copy from", "from", &from);
    if (!row->is_card)
        put_bar(bars, y + 8 + BAR_APART, "copy to", "to", &to);
    if (shows_link(bars, row))
        hr__text_printf(bars->out, "<path class=\"link\" d=\"M%.1f %.1fv%d\"/>\n",
                        x_of(bars, measurement->link.ceiling_bytes_per_s), y + 4,
                        row->is_card ? BAR + 8 : BAR + BAR_APART + 8);
}

static double height_of(const struct measure_row *row)
{
    return row->is_card ? GROUP - BAR_APART : GROUP;
}

static void put_axis(const struct bars *bars, double top, double bottom)
{
    for (int i = 0; i * bars->step <= bars->most * 1.001; i++) {
        char label[HR_UNIT_TEXT_SIZE];
        double x = x_of(bars, i * bars->step);
        hr__text_printf(bars->out, "<path class=\"%s\" d=\"M%.1f %.1fV%.1f\"/>\n", i ? "grid" : "base", x, top, bottom);
        snprintf(label, sizeof label, "%.4g%s", i * bars->step / 1e6,
                 (i + 1) * bars->step > bars->most * 1.001 ? " MB/s" : "");
        svg_text(bars->out, x, bottom + 18, "text-anchor=\"middle\" class=\"small\"", label);
    }
}

static double larger(double a, double b)
{
    return a > b ? a : b;
}

static const struct measure_row *choose_scale(struct bars *bars, const struct measure_table *table)
{
    const struct measure_row *fastest = NULL;
    double most = 0, most_from = 0;
    for (size_t i = 0; i < table->count; i++) {
        struct hr_measured from = measure_copy_from(&table->rows[i]), to = measure_copy_to(&table->rows[i]);
        if (measure_sustained(&from) > most_from) {
            most_from = measure_sustained(&from);
            fastest = &table->rows[i];
        }
        most = larger(most, larger(measure_sustained(&from), measure_sustained(&to)));
    }
    bars->step = most > 0 ? plot_round_step(most, TICKS_MAX) : 1e6;
    for (bars->most = bars->step; bars->most < most;)
        bars->most += bars->step;
    return fastest;
}

static void put_heading(const struct bars *bars, const struct measure_row *fastest, bool has_link)
{
    char name[PEN_NAME_SIZE], rate[HR_UNIT_TEXT_SIZE], line[PEN_NAME_SIZE + 2 * HR_UNIT_TEXT_SIZE];
    snprintf(line, sizeof line, "Nothing could be measured");
    if (fastest) {
        struct hr_measured from = measure_copy_from(fastest);
        pen_format_name(name, fastest->measurement->path, NAME_COLUMNS);
        snprintf(line, sizeof line, "Fastest to copy from: %s, %s", name,
                 hr__format_rate(rate, measure_sustained(&from)));
    }
    svg_text(bars->out, LEFT, 36, "font-size=\"20\" font-weight=\"bold\"", line);
    svg_text(bars->out, LEFT, 58, "class=\"small\"",
             has_link ? "sustained rate; a line where the slowest second was; broken line: the most the link carries"
                      : "sustained rate; a line where the slowest second was");
}

void measure_svg(struct hr_text *out, const void *picture)
{
    const struct measure_table *table = picture;
    struct bars bars = {.out = out};
    const struct measure_row *fastest = choose_scale(&bars, table);
    double bottom = TOP;
    bool has_link = false;
    for (size_t i = 0; i < table->count; i++) {
        bottom += height_of(&table->rows[i]);
        has_link = has_link || shows_link(&bars, &table->rows[i]);
    }
    svg_begin(out, WIDTH, (int)bottom + AXIS, style);
    put_heading(&bars, fastest, has_link);
    put_axis(&bars, TOP - 20, bottom - 4);
    double y = TOP;
    for (size_t i = 0; i < table->count; i++) {
        put_group(&bars, y, &table->rows[i]);
        y += height_of(&table->rows[i]);
    }
    svg_end(out);
}
