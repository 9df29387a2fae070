/* SPDX-License-Identifier: ISC */
/* A voice memo: RIFF WAVE, 8 kHz, 16 bits, one channel, a murmur of one to three seconds. */
#ifndef DEMO_SOUND_H
#define DEMO_SOUND_H

#include "demo_bytes.h"

void demo_sound_file(struct demo_bytes *out, uint64_t seed);

#endif
