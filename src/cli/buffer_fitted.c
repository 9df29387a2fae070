/* SPDX-License-Identifier: ISC */
#include "cli/buffer_fitted.h"

#include <math.h>
#include <stdio.h>

#include "cli/buffer_rates.h"

/* So much faster than the drain is near it. */
static const double near_drain = 1.1;

const char *buffer_caution(char out[BUFFER_CAUTION_SIZE], const struct buffer_fitted *fitted, unsigned index)
{
    static const unsigned bits[] = {HR_FIT_ONE_COUNT, HR_FIT_TWO_COUNTS, HR_FIT_NO_SLOW_RATE};
    double drain_per_s = fitted->fit.buffer.drain_per_s;
    unsigned skip = index;
    for (size_t i = 0; i < sizeof bits / sizeof *bits; i++) {
        if (!(fitted->fit.cautions & bits[i]) || skip-- > 0)
            continue;
        if (bits[i] == HR_FIT_ONE_COUNT)
            snprintf(out, BUFFER_CAUTION_SIZE, "one rate gives a relation, no depth: count at a slower rate too");
        else if (bits[i] == HR_FIT_TWO_COUNTS)
            snprintf(out, BUFFER_CAUTION_SIZE,
                     "two counts: nothing is left to judge them by; the ranges take each as 1.5 %% off");
        else
            snprintf(out, BUFFER_CAUTION_SIZE,
                     "no count at a slow rate: near %.0f a second nothing here can be relied on; count at %.0f too",
                     drain_per_s, fmax(1, ceil(near_drain * drain_per_s)));
        return out;
    }
    return NULL;
}

/* ---- text ---- */

static void show_relation(struct cli_output *out, const struct buffer_fitted *fitted)
{
    char line[128];
    snprintf(line, sizeof line, "depth = %g x (1 - drain / %g)", fitted->counts[0].frames, fitted->counts[0].per_s);
    cli_output_painted(out, CLI_STRONG, line);
    cli_output_append(out, "\n");
}

static void show_facts(struct cli_output *out, const struct hr_buffer_fit *fit)
{
    char line[128];
    snprintf(line, sizeof line, "depth %.1f frames (%.1f to %.1f), drain %.1f a second (%.1f to %.1f)",
             fit->buffer.depth_frames, fit->depth.low, fit->depth.high, fit->buffer.drain_per_s, fit->drain.low,
             fit->drain.high);
    cli_output_painted(out, CLI_STRONG, line);
    cli_output_append(out, "\n");
}

static void show_rate(struct cli_output *out, const struct hr_buffer *buffer, double per_s,
                      const struct hr_buffer_count *count)
{
    double frames = hr_buffer_frames_until_full(buffer, per_s);
    cli_output_printf(out, "%10g", per_s);
    if (isinf(frames))
        cli_output_append(out, "    never");
    else
        cli_output_printf(out, " %8.0f %8.1f s", frames, frames / per_s);
    if (count)
        cli_output_printf(out, "   counted %.0f (%+.1f %%)", count->frames, 100 * count->residual);
    cli_output_append(out, "\n");
}

static void show_rates(struct cli_output *out, const struct buffer_fitted *fitted)
{
    struct buffer_rates rates;
    buffer_rates_init(&rates);
    for (size_t i = 0; i < fitted->count; i++)
        buffer_rates_add(&rates, fitted->counts[i].per_s, &fitted->counts[i]);
    cli_output_append(out, "\n  a second   frames until full\n");
    for (size_t i = 0; i < rates.count; i++)
        show_rate(out, &fitted->fit.buffer, rates.items[i].per_s, rates.items[i].count);
}

void buffer_fit_text(struct cli_output *out, const struct buffer_fitted *fitted, bool line_only)
{
    const struct hr_buffer *buffer = &fitted->fit.buffer;
    char caution[BUFFER_CAUTION_SIZE];
    bool is_whole = !(fitted->fit.cautions & HR_FIT_ONE_COUNT);
    if (is_whole)
        show_facts(out, &fitted->fit);
    else
        show_relation(out, fitted);
    if (line_only)
        return;
    if (is_whole && buffer->drain_per_s > 0)
        cli_output_printf(out, "once full, empty again after %.1f s\n", hr_buffer_seconds_to_clear(buffer));
    for (unsigned i = 0; buffer_caution(caution, fitted, i); i++)
        cli_output_printf(out, "caution: %s\n", caution);
    if (is_whole)
        show_rates(out, fitted);
}

/* ---- JSON ---- */

static void put_figures(struct json_writer *json, const struct hr_buffer_fit *fit)
{
    json_decimal(json, "depth_frames", fit->buffer.depth_frames, 3);
    json_decimal(json, "drain_fps", fit->buffer.drain_per_s, 4);
    json_open(json, "range", '{');
    json_open(json, "depth", '[');
    json_decimal(json, NULL, fit->depth.low, 3);
    json_decimal(json, NULL, fit->depth.high, 3);
    json_close(json);
    json_open(json, "drain", '[');
    json_decimal(json, NULL, fit->drain.low, 4);
    json_decimal(json, NULL, fit->drain.high, 4);
    json_close(json);
    json_close(json);
}

static void put_counts(struct json_writer *json, const struct buffer_fitted *fitted)
{
    json_open(json, "counts", '[');
    for (size_t i = 0; i < fitted->count; i++) {
        json_open(json, NULL, '{');
        json_decimal(json, "fps", fitted->counts[i].per_s, 3);
        json_decimal(json, "frames", fitted->counts[i].frames, 3);
        json_decimal(json, "predicted", fitted->counts[i].predicted, 3);
        json_decimal(json, "residual", fitted->counts[i].residual, 5);
        json_close(json);
    }
    json_close(json);
}

static void put_rates(struct json_writer *json, const struct hr_buffer *buffer)
{
    struct buffer_rates rates;
    buffer_rates_init(&rates);
    json_decimal(json, "clear_s", hr_buffer_seconds_to_clear(buffer), 3);
    json_open(json, "rates", '[');
    for (size_t i = 0; i < rates.count; i++) {
        json_open(json, NULL, '{');
        json_decimal(json, "fps", rates.items[i].per_s, 3);
        json_decimal(json, "frames", hr_buffer_frames_until_full(buffer, rates.items[i].per_s), 3);
        json_decimal(json, "seconds", hr_buffer_seconds_until_full(buffer, rates.items[i].per_s), 3);
        json_close(json);
    }
    json_close(json);
}

void buffer_fit_json(struct json_writer *json, const struct buffer_fitted *fitted)
{
    char caution[BUFFER_CAUTION_SIZE];
    bool is_whole = !(fitted->fit.cautions & HR_FIT_ONE_COUNT);
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "buffer fit");
    if (is_whole) {
        put_figures(json, &fitted->fit);
    } else {
        json_null(json, "depth_frames");
        json_null(json, "drain_fps");
        json_null(json, "range");
    }
    put_counts(json, fitted);
    json_open(json, "warnings", '[');
    for (unsigned i = 0; buffer_caution(caution, fitted, i); i++)
        json_text(json, NULL, caution);
    json_close(json);
    if (is_whole)
        put_rates(json, &fitted->fit.buffer);
    json_close(json);
    json_end(json);
}
