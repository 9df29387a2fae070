/* SPDX-License-Identifier: ISC */
/* Repeatable chance: the same seed gives the same numbers on every machine. Streams are told apart by a purpose and an
 * index, so that asking for one frame more does not shift what the others look like. */
#ifndef DEMO_RANDOM_H
#define DEMO_RANDOM_H

#include <stddef.h>
#include <stdint.h>

struct demo_random {
    uint64_t state;
};

struct demo_random demo_random_of(uint64_t seed, const char *purpose, uint64_t index);
uint64_t demo_random_next(struct demo_random *random);
/* In [0, 1). */
double demo_random_unit(struct demo_random *random);
/* In [low, high). */
double demo_random_range(struct demo_random *random, double low, double high);
/* In [0, count). */
unsigned demo_random_index(struct demo_random *random, unsigned count);
/* Normal with mean 0 and deviation 1, kept within three deviations. */
double demo_random_normal(struct demo_random *random);
/* A smooth curve through random values in [-1, 1] at whole x, one curve a seed. */
double demo_random_curve(uint64_t seed, double x);
void demo_random_fill(struct demo_random *random, unsigned char *bytes, size_t size);

#endif
