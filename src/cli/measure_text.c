/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "base/units.h"
#include "cli/measure_report.h"

enum { COLUMN = 11 };

static const char *kind_of(const struct measure_row *row)
{
    return row->is_card ? "card" : "drive";
}

static void put_heading(struct cli_output *out, const struct measure_row *row)
{
    const struct hr_link *link = &row->measurement->link;
    cli_output_append(out, kind_of(row));
    cli_output_append(out, " ");
    cli_output_name(out, row->measurement->path);
    if (link->ceiling_bytes_per_s > 0)
        cli_output_printf(out, ", %s", link->name);
    cli_output_append(out, "\n");
}

/* "312 MB/s" in bold, and what qualifies it. */
static void put_direction(struct cli_output *out, const struct measure_row *row, enum hr_direction direction,
                          bool quiet)
{
    const struct hr_measured *measured = &row->measurement->directions[direction];
    double ceiling = row->measurement->link.ceiling_bytes_per_s;
    char rate[HR_UNIT_TEXT_SIZE], most[HR_UNIT_TEXT_SIZE];
    if (measured->bytes == 0)
        return;
    cli_output_printf(out, "  %-*s", COLUMN, hr_direction_name(direction));
    if (measured->is_cache) {
        cli_output_printf(out, "memory answered, at %s: this is no speed of the %s\n",
                          hr__format_rate(rate, measured->speed.bytes_per_s), kind_of(row));
        return;
    }
    cli_output_painted(out, CLI_STRONG, hr__format_rate(rate, measured->speed.bytes_per_s));
    if (!quiet && measured->slowest_second_bytes_per_s > 0)
        cli_output_printf(out, "   slowest second %s", hr__format_rate(rate, measured->slowest_second_bytes_per_s));
    if (!quiet)
        cli_output_printf(out, "   spread %.0f %%", 100 * measured->spread);
    if (!quiet && ceiling > 0)
        cli_output_printf(out, "   %.0f %% of the link's %s", 100 * measured->speed.bytes_per_s / ceiling,
                          hr__format_rate(most, ceiling));
    cli_output_append(out, "\n");
}

/* What could not be told from the files that were there is left out. */
static void put_cost(struct cli_output *out, const struct measure_row *row)
{
    static const char *const to[] = {
        [HR_DIRECTION_READ] = "", [HR_DIRECTION_WRITE] = " to write", [HR_DIRECTION_READ_BACK] = " to read back"};
    bool is_first = true;
    for (int i = 0; i < HR_DIRECTION_COUNT; i++) {
        double file_s = row->measurement->directions[i].speed.file_s;
        if (file_s <= 0)
            continue;
        if (is_first)
            cli_output_printf(out, "  %-*s%.2f ms on top of its bytes%s", COLUMN, "a file", 1e3 * file_s, to[i]);
        else
            cli_output_printf(out, ", %.2f ms%s", 1e3 * file_s, to[i]);
        is_first = false;
    }
    cli_output_append(out, is_first ? "" : "\n");
}

static void put_fast_cache(struct cli_output *out, const struct hr_speed *write)
{
    char bytes[HR_UNIT_TEXT_SIZE], rate[HR_UNIT_TEXT_SIZE];
    if (write->slow_bytes_per_s <= 0)
        return;
    cli_output_printf(out, "  %-*safter %s it goes on at ", COLUMN, "sustained",
                      hr__format_bytes(bytes, (uint64_t)write->fast_bytes));
    cli_output_painted(out, CLI_STRONG, hr__format_rate(rate, write->slow_bytes_per_s));
    cli_output_append(out, "\n");
}

void measure_text(struct cli_output *out, const struct measure_row *row, bool quiet)
{
    const struct hr_measurement *measurement = row->measurement;
    put_heading(out, row);
    for (int i = 0; i < HR_DIRECTION_COUNT; i++)
        put_direction(out, row, (enum hr_direction)i, quiet);
    put_fast_cache(out, &measurement->directions[HR_DIRECTION_WRITE].speed);
    if (quiet)
        return;
    put_cost(out, row);
    if (measurement->together > 0)
        cli_output_printf(out, "  %-*s%.2f of what either does alone, reading and writing at once\n", COLUMN,
                          "together", measurement->together);
}

/* ---- Side by side ---- */

static double fastest(const struct measure_table *table, struct hr_measured (*pick)(const struct measure_row *row))
{
    double most = 0;
    for (size_t i = 0; i < table->count; i++) {
        struct hr_measured measured = pick(&table->rows[i]);
        most = measure_sustained(&measured) > most ? measure_sustained(&measured) : most;
    }
    return most;
}

static void put_pair(struct cli_output *out, const struct hr_measured *measured, double most)
{
    char rate[HR_UNIT_TEXT_SIZE], cell[HR_UNIT_TEXT_SIZE] = "-", slowest[HR_UNIT_TEXT_SIZE] = "-";
    double sustained = measure_sustained(measured);
    if (measured->bytes > 0)
        hr__format_rate(rate, sustained);
    snprintf(cell, sizeof cell, "%12s", measured->bytes > 0 ? rate : "-");
    if (measured->slowest_second_bytes_per_s > 0)
        hr__format_rate(slowest, measured->slowest_second_bytes_per_s);
    cli_output_painted(out, measured->bytes > 0 && sustained >= most ? CLI_STRONG : CLI_PLAIN, cell);
    cli_output_printf(out, " %14s   ", slowest);
}

void measure_text_compare(struct cli_output *out, const struct measure_table *table)
{
    double from = fastest(table, measure_copy_from), to = fastest(table, measure_copy_to);
    cli_output_painted(out, CLI_STRONG, "   copy from                     copy to                       a file\n");
    cli_output_append(out, "   sustained slowest second      sustained slowest second\n");
    for (size_t i = 0; i < table->count; i++) {
        const struct measure_row *row = &table->rows[i];
        struct hr_measured read = measure_copy_from(row), write = measure_copy_to(row);
        double file_s = read.speed.file_s + write.speed.file_s;
        put_pair(out, &read, from);
        put_pair(out, &write, to);
        if (file_s > 0)
            cli_output_printf(out, "%.2f ms", 1e3 * file_s);
        else
            cli_output_append(out, "      -");
        cli_output_printf(out, "  %s ", kind_of(row));
        cli_output_name(out, row->measurement->path);
        cli_output_append(out, "\n");
    }
}

/* ---- Under way ---- */

void measure_draw(struct hr_text *out, const struct measure_view *view, const struct progress_style *style)
{
    struct pen pen = {.out = out, .style = style};
    char rate[HR_UNIT_TEXT_SIZE], bytes[HR_UNIT_TEXT_SIZE], name[PEN_NAME_SIZE];
    pen_format_name(name, view->path, PEN_NAME_COLUMNS_MAX);
    pen_piece(&pen, CLI_STRONG, hr__format_rate(rate, view->bytes_per_s));
    pen_piece(&pen, CLI_PLAIN, hr_direction_name(view->direction));
    pen_piece(&pen, CLI_PLAIN, hr__format_bytes(bytes, view->bytes));
    pen_piece(&pen, CLI_FAINT, name);
    pen_end_line(&pen);
}
