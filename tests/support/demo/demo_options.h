/* SPDX-License-Identifier: ISC */
/* What is asked of the builder. One table in demo_options.c drives parsing and --help; --help also explains the truth
 * file. */
#ifndef DEMO_OPTIONS_H
#define DEMO_OPTIONS_H

#include <stdbool.h>
#include <stdint.h>

struct demo_options {
    const char *out;  /* root of the card */
    char truth[4096]; /* ground truth; OUT.truth.csv unless told */
    uint64_t seed;
    uint64_t frames;    /* on this card, all bodies together */
    const char *bodies; /* "A", "B" or "AB" */
    uint64_t half;      /* 1 or 2: that half of the match only; 0: all */
    const char *date;   /* day of the match, YYYY-MM-DD */
    uint64_t width_pixels, height_pixels;
    uint64_t jpeg_bytes; /* least size of a JPEG; 0: as it comes */
    uint64_t raw_every;  /* a raw twin for every n-th frame; 0: none */
    uint64_t raw_bytes;  /* least size of a raw file */
    uint64_t clock_resolution_ms;
    double cadence_per_s; /* 0: each play its own, 10 to 40 */
    double jitter_ms;
    double drop_percent;
    uint64_t buffer_frames; /* depth of the camera's buffer; 0: it never fills */
    double drain_per_s;     /* frames a second the card takes */
    uint64_t counter;       /* number of the first file; 0: body A rolls over within the card */
    bool fat_times;         /* file times in whole steps of two seconds */
    bool plain;             /* frames alone: no clip, memo, protection, leftovers */
};

/* Fills *options from the command line. Ends the program with 0 after --help and with 2 when the line makes no sense.
 */
void demo_options_parse(struct demo_options *options, int argc, char **argv);

#endif
