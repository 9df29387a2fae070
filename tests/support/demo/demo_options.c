/* SPDX-License-Identifier: ISC */
#include "demo_options.h"

#include <errno.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "demo_fail.h"

enum value { FLAG, COUNT, REAL, TEXT, SIZE, PATH };

struct option_row {
    const char *name, *operand, *help;
    enum value value;
    size_t offset;
};

#define AT(field) offsetof(struct demo_options, field)

static const struct option_row rows[] = {
    {"out", "DIR", "root of the card, made when missing; the only option that must be given", TEXT, AT(out)},
    {"seed", "N", "the match; same options and seed, same bytes (1)", COUNT, AT(seed)},
    {"frames", "N", "frames on the card, all bodies together (600)", COUNT, AT(frames)},
    {"bodies", "A|B|AB", "whose card it is (AB, both)", TEXT, AT(bodies)},
    {"half", "1|2", "only what was shot before or after half-time, named as in the whole", COUNT, AT(half)},
    {"date", "YYYY-MM-DD", "day of the match (2026-05-16)", TEXT, AT(date)},
    {"size", "WxH", "pixels of a frame (960x640)", SIZE, AT(width_pixels)},
    {"bytes", "N", "pad every JPEG up to N bytes", COUNT, AT(jpeg_bytes)},
    {"raw-every", "N", "a raw twin for every N-th frame (0, none)", COUNT, AT(raw_every)},
    {"raw-bytes", "N", "pad every raw file up to N bytes", COUNT, AT(raw_bytes)},
    {"clock-resolution-ms", "N", "steps of the camera's clock: 1, 10, 100 or 1000 (10)", COUNT,
     AT(clock_resolution_ms)},
    {"cadence", "F", "frames a second of every burst (each play its own, 10 to 40)", REAL, AT(cadence_per_s)},
    {"jitter-ms", "F", "standard deviation of the moment of release (1)", REAL, AT(jitter_ms)},
    {"drop-percent", "F", "frames missing within bursts, skipped or deleted (0.5)", REAL, AT(drop_percent)},
    {"buffer", "N", "frames the camera can hold; 0 for no end, so no stall (48)", COUNT, AT(buffer_frames)},
    {"drain", "F", "frames a second that the card takes from the buffer (16)", REAL, AT(drain_per_s)},
    {"counter", "N", "number of each body's first file (body A rolls over from 9999)", COUNT, AT(counter)},
    {"truth", "FILE", "where the ground truth goes (DIR.truth.csv, beside the card)", PATH, AT(truth)},
    {"fat-times", NULL, "file times in whole steps of two seconds, as FAT keeps them", FLAG, AT(fat_times)},
    {"plain", NULL, "frames alone: no clip, voice memo, protected file or leftovers", FLAG, AT(plain)},
};
enum { ROWS = sizeof rows / sizeof *rows };

static const char truth_help[] =
    "The ground truth has a row for each frame and clip written, in the order they were taken:\n"
    "  files          paths below the card's root, joined by ';'\n"
    "  kind           frame or clip\n"
    "  body, serial   A or B, and what Exif says\n"
    "  time_ns        the true moment, nanoseconds since 1970-01-01 UTC\n"
    "  stamp_ns       what the camera wrote: the same in local time, cut to the clock's resolution\n"
    "  counter        the number in the file's name\n"
    "  sequence       bursts of one body in one play share it; empty for a clip\n"
    "  burst          one held cadence; a single has a burst and a sequence of its own\n"
    "  stalled        1 when the buffer was full and this frame had to wait\n"
    "  cadence        frames a second the body was set to; 0 for a single\n"
    "  rating         xmp:Rating, empty when there is no packet\n"
    "  protected      1 when the file really has no write bit; a volume may be unable to keep that\n"
    "  focus          1 sharp, falling to 0: 1 / (1 + blur radius on the subject in pixels at a width of 960)\n";

static void print_help(void)
{
    puts("demo_card --out DIR [option...]\n"
         "Builds a camera card: a field-hockey cup final at Northmere, shot by two bodies. Everything on it is "
         "invented.\n");
    for (size_t i = 0; i < ROWS; i++) {
        char left[40];
        snprintf(left, sizeof left, "--%s %s", rows[i].name, rows[i].operand ? rows[i].operand : "");
        printf("  %-26s %s\n", left, rows[i].help);
    }
    printf("  %-26s %s\n\n%s", "--help", "this page", truth_help);
}

static _Noreturn void refuse(const char *name, const char *text)
{
    fprintf(stderr, "demo_card: --%s cannot be '%s'; see --help\n", name, text);
    exit(2);
}

static uint64_t parse_count(const char *name, const char *text, char end_sign, const char **rest)
{
    char *end;
    errno = 0;
    uint64_t value = strtoull(text, &end, 10);
    if (*text < '0' || *text > '9' || errno || *end != end_sign)
        refuse(name, text);
    if (rest)
        *rest = end + 1;
    return value;
}

static double parse_real(const char *name, const char *text)
{
    char *end;
    double value = strtod(text, &end);
    if (end == text || *end || strspn(text, "0123456789.") != strlen(text))
        refuse(name, text);
    return value;
}

static void store(struct demo_options *options, const struct option_row *row, const char *text)
{
    void *field = (char *)options + row->offset;
    const char *height;
    switch (row->value) {
    case FLAG:
        *(bool *)field = true;
        break;
    case COUNT:
        *(uint64_t *)field = parse_count(row->name, text, '\0', NULL);
        break;
    case REAL:
        *(double *)field = parse_real(row->name, text);
        break;
    case TEXT:
        *(const char **)field = text;
        break;
    case SIZE:
        options->width_pixels = parse_count(row->name, text, 'x', &height);
        options->height_pixels = parse_count(row->name, height, '\0', NULL);
        break;
    case PATH:
        if (snprintf(field, sizeof options->truth, "%s", text) >= (int)sizeof options->truth)
            refuse(row->name, text);
        break;
    }
}

static const struct option_row *find_row(const char *argument)
{
    for (size_t i = 0; i < ROWS; i++)
        if (!strncmp(argument, "--", 2) && !strcmp(argument + 2, rows[i].name))
            return &rows[i];
    fprintf(stderr, "demo_card: no option '%s'; see --help\n", argument);
    exit(2);
}

static void require(bool holds, const char *sentence)
{
    if (!holds) {
        fprintf(stderr, "demo_card: %s\n", sentence);
        exit(2);
    }
}

static void check(const struct demo_options *options)
{
    uint64_t ms = options->clock_resolution_ms;
    require(options->out && *options->out, "--out DIR must be given");
    require(options->frames >= 1 && options->frames <= 2000000, "--frames takes 1 to 2000000");
    require(!strcmp(options->bodies, "A") || !strcmp(options->bodies, "B") || !strcmp(options->bodies, "AB"),
            "--bodies takes A, B or AB");
    require(options->half <= 2, "--half takes 1 or 2");
    require(ms == 1 || ms == 10 || ms == 100 || ms == 1000, "--clock-resolution-ms takes 1, 10, 100 or 1000");
    require(options->width_pixels >= 16 && options->width_pixels <= 8192, "--size takes 16 to 8192 pixels a side");
    require(options->height_pixels >= 16 && options->height_pixels <= 8192, "--size takes 16 to 8192 pixels a side");
    require(options->jpeg_bytes <= 1000000000 && options->raw_bytes <= 1000000000,
            "--bytes and --raw-bytes take at most 1000000000");
    require(options->counter <= 9999, "--counter takes 1 to 9999");
    require(options->drop_percent <= 20, "--drop-percent takes at most 20");
    require(options->cadence_per_s == 0 || (options->cadence_per_s >= 1 && options->cadence_per_s <= 240),
            "--cadence takes 1 to 240");
    require(!options->buffer_frames || options->drain_per_s >= 1, "--drain takes 1 or more");
    require(!options->buffer_frames || options->drain_per_s >= options->cadence_per_s / 2.5 ||
                options->drain_per_s >= 4,
            "--drain must be 4, or the cadence divided by 2.5: slower frames would look like a burst each");
}

static void name_truth(struct demo_options *options)
{
    size_t length = strlen(options->out);
    while (length > 1 && options->out[length - 1] == '/')
        length--;
    if (snprintf(options->truth, sizeof options->truth, "%.*s.truth.csv", (int)length, options->out) >=
        (int)sizeof options->truth)
        demo_fail("--out is too long");
}

void demo_options_parse(struct demo_options *options, int argc, char **argv)
{
    *options = (struct demo_options){.seed = 1,
                                     .frames = 600,
                                     .bodies = "AB",
                                     .date = "2026-05-16",
                                     .width_pixels = 960,
                                     .height_pixels = 640,
                                     .clock_resolution_ms = 10,
                                     .jitter_ms = 1,
                                     .drop_percent = 0.5,
                                     .buffer_frames = 48,
                                     .drain_per_s = 16};
    for (int i = 1; i < argc; i++) {
        if (!strcmp(argv[i], "--help")) {
            print_help();
            exit(0);
        }
        const struct option_row *row = find_row(argv[i]);
        if (row->operand && i + 1 == argc)
            refuse(row->name, "nothing");
        store(options, row, row->operand ? argv[++i] : NULL);
    }
    check(options);
    if (!*options->truth)
        name_truth(options);
}
