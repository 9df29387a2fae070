/* SPDX-License-Identifier: ISC */
#include "demo_random.h"

#include <math.h>
#include <string.h>

/* The finaliser and increment of SplitMix64 (Steele, Lea, Flood: Fast Splittable Pseudorandom Number Generators, 2014).
 */
static uint64_t mix(uint64_t z)
{
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9U;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBU;
    return z ^ (z >> 31);
}

struct demo_random demo_random_of(uint64_t seed, const char *purpose, uint64_t index)
{
    uint64_t state = mix(seed + 0x9E3779B97F4A7C15U);
    for (; *purpose; purpose++)
        state = mix(state ^ (unsigned char)*purpose);
    return (struct demo_random){mix(state ^ mix(index + 1))};
}

uint64_t demo_random_next(struct demo_random *random)
{
    random->state += 0x9E3779B97F4A7C15U;
    return mix(random->state);
}

double demo_random_unit(struct demo_random *random)
{
    return (double)(demo_random_next(random) >> 11) * 0x1p-53;
}

double demo_random_range(struct demo_random *random, double low, double high)
{
    return low + (high - low) * demo_random_unit(random);
}

unsigned demo_random_index(struct demo_random *random, unsigned count)
{
    return (unsigned)(demo_random_next(random) % count);
}

double demo_random_normal(struct demo_random *random)
{
    double sum = -6;
    for (int i = 0; i < 12; i++)
        sum += demo_random_unit(random);
    return fmax(-3, fmin(3, sum));
}

static double curve_value(uint64_t seed, double x)
{
    struct demo_random random = demo_random_of(seed, "curve", (uint64_t)(int64_t)x);
    return demo_random_range(&random, -1, 1);
}

double demo_random_curve(uint64_t seed, double x)
{
    double from = floor(x), part = x - from, ease = part * part * (3 - 2 * part);
    return curve_value(seed, from) * (1 - ease) + curve_value(seed, from + 1) * ease;
}

void demo_random_fill(struct demo_random *random, unsigned char *bytes, size_t size)
{
    for (size_t at = 0; at < size; at += 8) {
        uint64_t word = demo_random_next(random);
        memcpy(bytes + at, &word, size - at < 8 ? size - at : 8);
    }
}
