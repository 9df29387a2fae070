/* SPDX-License-Identifier: ISC */
/* What was measured, for people, programs and as a picture. */
#ifndef HR_CLI_MEASURE_REPORT_H
#define HR_CLI_MEASURE_REPORT_H

#include <headrace/devices.h>

#include "cli/cli_output.h"
#include "cli/json_writer.h"
#include "cli/progress_pen.h"

enum { MEASURE_PATHS_MAX = 16 };

struct measure_row {
    const struct hr_measurement *measurement;
    bool is_card;
};
struct measure_table {
    struct measure_row rows[MEASURE_PATHS_MAX];
    size_t count;
};

/* What copying from it is bound by: the read of a card, the read-back of a drive; and copying to it. Their bytes are 0
 * where that was not measured, or memory answered. */
struct hr_measured measure_copy_from(const struct measure_row *row);
struct hr_measured measure_copy_to(const struct measure_row *row);
/* That can be kept up: behind a fast cache the slower rate. */
double measure_sustained(const struct hr_measured *measured);

void measure_text(struct cli_output *out, const struct measure_row *row, bool quiet);
void measure_text_compare(struct cli_output *out, const struct measure_table *table);
void measure_json(struct json_writer *json, const struct measure_row *row);
/* Bars, copy from and copy to side by side, a line where the slowest second ended; `picture` is a measure_table. */
void measure_svg(struct hr_text *out, const void *picture);

struct measure_view {
    const char *path;
    enum hr_direction direction;
    double bytes_per_s;
    uint64_t bytes;
};
/* One line, ended by LF. */
void measure_draw(struct hr_text *out, const struct measure_view *view, const struct progress_style *style);

#endif
