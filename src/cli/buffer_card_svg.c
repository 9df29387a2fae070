/* SPDX-License-Identifier: ISC */
#include "cli/buffer_card_svg.h"

#include <math.h>
#include <stdio.h>

#include "cli/cli.h"
#include "cli/plot_file.h"
#include "cli/svg.h"

/* Holding so long is no burst any more. */
static const double most_frames = 9999;
/* Pixels; read at arm's length when printed as wide as a hand. */
enum {
    WIDTH = 700,
    MARGIN = 24,
    HEAD = 138, /* above the first row */
    ROW = 64,
    FOOT = 90,
    RATE = 128, /* right ends */
    THREE_QUARTERS = 400,
    FULL = WIDTH - MARGIN,
    FRAMES_APART = 100 /* between the right ends of frames and seconds */
};

static void put_rule(struct hr_text *out, double y, const char *width)
{
    hr__text_printf(out, "<path stroke=\"#000000\" stroke-width=\"%s\" d=\"M%d %.1fH%d\"/>\n", width, MARGIN, y,
                    WIDTH - MARGIN);
}

static void put_figure(struct hr_text *out, double right, double y, const char *class, const char *text)
{
    char attributes[64];
    snprintf(attributes, sizeof attributes, "text-anchor=\"end\" class=\"%s\"", class);
    svg_text(out, right, y, attributes, text);
}

/* Frames large, seconds beside them. */
static void put_pair(struct hr_text *out, double right, double y, double frames, double seconds)
{
    char text[32];
    snprintf(text, sizeof text, "%.0f", floor(frames));
    put_figure(out, right - FRAMES_APART, y, "frames", text);
    snprintf(text, sizeof text, seconds < 99.95 ? "%.1f s" : "%.0f s", seconds);
    put_figure(out, right, y, "seconds", text);
}

static void put_row(struct hr_text *out, const struct hr_buffer *buffer, double per_s, double y)
{
    double frames = hr_buffer_frames_until_full(buffer, per_s);
    char rate[32];
    snprintf(rate, sizeof rate, "%g/s", per_s);
    put_figure(out, RATE, y, "rate", rate);
    put_pair(out, THREE_QUARTERS, y, 0.75 * frames, 0.75 * frames / per_s);
    put_pair(out, FULL, y, frames, frames / per_s);
}

static void put_heading(struct hr_text *out)
{
    svg_text(out, MARGIN, 54, "font-size=\"34\" font-weight=\"bold\"", "Frames until the buffer is full");
    svg_text(out, RATE, HEAD - 16, "text-anchor=\"end\" class=\"head\"", "rate");
    svg_text(out, THREE_QUARTERS, HEAD - 16, "text-anchor=\"end\" class=\"head\"", "three quarters full");
    svg_text(out, FULL, HEAD - 16, "text-anchor=\"end\" class=\"head\"", "full");
    put_rule(out, HEAD, "3");
}

static void put_foot(struct hr_text *out, const struct hr_buffer *buffer, double y)
{
    char line[96];
    snprintf(line, sizeof line, "1 s of rest frees %.0f frames; full to empty %.1f s", floor(buffer->drain_per_s),
             hr_buffer_seconds_to_clear(buffer));
    svg_text(out, MARGIN, y + 36, "font-size=\"23\" font-weight=\"bold\"", line);
    snprintf(line, sizeof line, "up to %.1f/s never full; depth %.1f frames", buffer->drain_per_s,
             buffer->depth_frames);
    svg_text(out, MARGIN, y + 68, "font-size=\"20\"", line);
}

static bool has_row(const struct buffer_card *card, size_t i)
{
    return hr_buffer_frames_until_full(&card->buffer, card->rates.items[i].per_s) <= most_frames;
}

size_t buffer_card_rows(const struct buffer_card *card)
{
    size_t rows = 0;
    for (size_t i = 0; i < card->rates.count; i++)
        rows += has_row(card, i);
    return rows;
}

void buffer_card_svg(struct hr_text *out, const struct buffer_card *card)
{
    double y = HEAD;
    svg_begin(out, WIDTH, HEAD + (int)buffer_card_rows(card) * ROW + FOOT,
              "text{fill:#000000}.rate{font-size:36px}.frames{font-size:50px;font-weight:bold}"
              ".seconds{font-size:27px}.head{font-size:22px}");
    put_heading(out);
    for (size_t i = 0; i < card->rates.count; i++) {
        if (!has_row(card, i))
            continue;
        put_row(out, &card->buffer, card->rates.items[i].per_s, y + ROW - 16);
        y += ROW;
        put_rule(out, y, "1");
    }
    put_foot(out, &card->buffer, y);
    svg_end(out);
}

static void draw(struct hr_text *out, const void *card)
{
    buffer_card_svg(out, card);
}

bool buffer_card_write(const char *path, const struct buffer_card *card)
{
    if (buffer_card_rows(card) > 0)
        return plot_file_write(path, draw, card);
    cli_complain("the card keeps up at every rate: there is nothing to print");
    return false;
}
