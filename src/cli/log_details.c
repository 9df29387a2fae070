/* SPDX-License-Identifier: ISC */
#include <inttypes.h>
#include <string.h>

#include "base/units.h"
#include "cli/log_report.h"
#include "cli/progress_pen.h"
#include "cli/when.h"

enum { LANE_COLUMNS = 36 };

static void put_lines(struct cli_output *out, const char *name, const char *lines)
{
    while (*lines) {
        size_t size = strcspn(lines, "\n");
        cli_output_printf(out, "%-8s", name);
        cli_output_name_bytes(out, lines, size);
        cli_output_append(out, "\n");
        name = "";
        lines += size + (lines[size] == '\n');
    }
}

static void put_lane(struct cli_output *out, const struct run_history *history, const struct history_lane *lane)
{
    static const char *const words[HISTORY_STAGE_COUNT] = {"card, read", "card, digests", "write ", "read back "};
    char place[PEN_NAME_SIZE], mean[HR_UNIT_TEXT_SIZE], peak[HR_UNIT_TEXT_SIZE], busy[HR_UNIT_TEXT_SIZE];
    const char *word = words[lane->stage];
    pen_format_name(place, history_lane_place(history, lane), LANE_COLUMNS - pen_width(word));
    int width = pen_width(word) + pen_width(place);
    cli_output_printf(out, "  %s%s%*s %10s %10s %12s\n", word, place, LANE_COLUMNS - width, "",
                      hr__format_rate(mean, lane->mean_bytes_per_s), hr__format_rate(peak, lane->peak_bytes_per_s),
                      hr__format_duration(busy, lane->busy_ns));
}

/* How each place was written and read back. */
static void put_policies(struct cli_output *out, const struct run_history *history)
{
    const char *name = "how", *line = history->run.policies;
    for (size_t i = 0; i < history->place_count && *line; i++) {
        size_t size = strcspn(line, "\n");
        if (size) {
            cli_output_printf(out, "%-8s", name);
            cli_output_name(out, history->places[i]);
            cli_output_append(out, ": ");
            cli_output_name_bytes(out, line, size);
            cli_output_append(out, "\n");
            name = "";
        }
        line += size + (line[size] == '\n');
    }
}

void log_text_details(struct cli_output *out, const struct run_history *history)
{
    const struct hr_ledger_run *run = &history->run;
    struct hr_text slowest;
    char count[HR_UNIT_TEXT_SIZE];
    struct log_table table = {.out = out};
    log_table_facts(&table, run);
    cli_output_append(out, "\n");
    put_lines(out, "host", run->host);
    put_lines(out, "job", run->job);
    put_lines(out, "cards", run->cards);
    put_lines(out, "places", run->places);
    if (run->failed_files)
        cli_output_printf(out, "%-8s%s\n", "FAILED", hr__format_counted(count, run->failed_files, "file"));
    if (!history->has_moved)
        return;
    cli_output_printf(out, "\n  %-*s %10s %10s %12s\n", LANE_COLUMNS, "while busy", "mean", "peak", "busy for");
    for (size_t i = 0; i < history->lane_count; i++)
        if (history->lanes[i].bytes)
            put_lane(out, history, &history->lanes[i]);
    hr__text_init(&slowest, HR_FAULT_TEXT_SIZE);
    hr__text_append(&slowest, history->slowest ? "" : "not told, the run was too short");
    history_describe_slowest(&slowest, history);
    cli_output_append(out, "\nheld up by: ");
    cli_output_painted(out, CLI_STRONG, slowest.bytes);
    cli_output_append(out, "\n");
    out->text.broken |= slowest.broken;
    hr__text_finish(&slowest);
    put_policies(out, history);
}

void log_csv_samples(struct cli_output *out, const struct run_history *history)
{
    cli_output_append(out, "stage,place,from_ns,to_ns,bytes\n");
    for (size_t i = 0; i < history->lane_count; i++) {
        const struct history_lane *lane = &history->lanes[i];
        bool has_place = lane->stage == HISTORY_WRITE || lane->stage == HISTORY_READ_BACK;
        for (size_t k = 0; k < lane->point_count; k++) {
            const struct history_point *point = &lane->points[k];
            cli_output_printf(out, "%s,", history_stage_name(lane->stage));
            if (has_place)
                cli_output_printf(out, "%zu", lane->place + 1);
            cli_output_printf(out, ",%" PRId64 ",%" PRId64 ",%" PRIu64 "\n", point->from_ns, point->to_ns,
                              point->bytes);
        }
    }
}

static void put_json_lane(struct json_writer *json, const struct run_history *history, const struct history_lane *lane)
{
    json_open(json, NULL, '{');
    json_text(json, "stage", history_stage_name(lane->stage));
    json_name(json, "place", history_lane_place(history, lane));
    json_bool(json, "held_up_the_run", lane == history->slowest);
    json_number(json, "bytes", lane->bytes);
    json_signed(json, "busy_ns", lane->busy_ns);
    json_rate(json, "mean_bytes_per_s", lane->mean_bytes_per_s);
    json_rate(json, "peak_bytes_per_s", lane->peak_bytes_per_s);
    json_number(json, "queue_percent", lane->queue_percent);
    json_open(json, "samples", '[');
    for (size_t i = 0; i < lane->point_count; i++) {
        json_open(json, NULL, '{');
        json_signed(json, "from_ns", lane->points[i].from_ns);
        json_signed(json, "to_ns", lane->points[i].to_ns);
        json_number(json, "bytes", lane->points[i].bytes);
        json_close(json);
    }
    json_close(json);
    json_close(json);
}

void log_json_details(struct json_writer *json, const struct run_history *history)
{
    log_json_run(json, &history->run);
    json_open(json, "stages", '[');
    for (size_t i = 0; i < history->lane_count; i++)
        put_json_lane(json, history, &history->lanes[i]);
    json_close(json);
}
