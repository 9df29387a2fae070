/* SPDX-License-Identifier: ISC */
/* The raw twin of a frame: a .DNG whose IFD0 is a JPEG preview and whose SubIFD is a small mosaic of 16-bit samples. */
#ifndef DEMO_RAW_H
#define DEMO_RAW_H

#include "demo_canvas.h"
#include "demo_exif.h"
#include "demo_random.h"

/* Padded up to `least_bytes` with random bytes behind all that the directories point to. */
void demo_raw_file(struct demo_bytes *out, const struct demo_frame *frame, const struct demo_exposure *exposure,
                   const struct demo_canvas *canvas, const struct demo_bytes *preview, const char *xmp,
                   uint64_t least_bytes, struct demo_random random);

#endif
