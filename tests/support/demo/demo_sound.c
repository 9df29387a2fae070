/* SPDX-License-Identifier: ISC */
#include "demo_sound.h"

#include <math.h>

#include "demo_random.h"

enum { RATE = 8000, SAMPLE_BYTES = 2, PCM = 1 };

static void add_chunk_head(struct demo_bytes *out, const char *name, size_t size)
{
    demo_bytes_add(out, name, 4);
    demo_bytes_add_little(out, size, 4);
}

static void add_format(struct demo_bytes *out)
{
    add_chunk_head(out, "fmt ", 16);
    demo_bytes_add_little(out, PCM, 2);
    demo_bytes_add_little(out, 1, 2);
    demo_bytes_add_little(out, RATE, 4);
    demo_bytes_add_little(out, RATE * SAMPLE_BYTES, 4);
    demo_bytes_add_little(out, SAMPLE_BYTES, 2);
    demo_bytes_add_little(out, 8 * SAMPLE_BYTES, 2);
}

void demo_sound_file(struct demo_bytes *out, uint64_t seed)
{
    struct demo_random random = demo_random_of(seed, "sound", 0);
    unsigned samples = RATE + demo_random_index(&random, 2 * RATE);
    double phase = 0;
    add_chunk_head(out, "RIFF", 4 + 8 + 16 + 8 + samples * SAMPLE_BYTES);
    demo_bytes_add(out, "WAVE", 4);
    add_format(out);
    add_chunk_head(out, "data", samples * SAMPLE_BYTES);
    for (unsigned i = 0; i < samples; i++) {
        double seconds = (double)i / RATE, loud = 0.5 + 0.5 * demo_random_curve(seed, seconds * 7);
        phase += 2 * 3.14159265 * (130 + 40 * demo_random_curve(seed + 1, seconds * 4)) / RATE;
        double wave = sin(phase) + 0.5 * sin(2 * phase) + 0.25 * sin(5 * phase);
        demo_bytes_add_little(out, (uint16_t)(int16_t)(wave * loud * 9000), SAMPLE_BYTES);
    }
}
