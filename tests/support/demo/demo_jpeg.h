/* SPDX-License-Identifier: ISC */
/* Canvas to baseline JPEG, and the file around it. */
#ifndef DEMO_JPEG_H
#define DEMO_JPEG_H

#include "demo_bytes.h"
#include "demo_canvas.h"
#include "demo_random.h"

/* Appends a whole JPEG stream without any application segment, 4:2:0. */
void demo_jpeg_encode(struct demo_bytes *out, const struct demo_canvas *canvas, int quality);
/* Appends the file: the stream with Exif (a TIFF block) and, unless `xmp` is empty, an XMP packet in front.
 *
 * Shorter than `least_bytes`, it is padded to that size with random bytes in APP10 segments and with fill bytes, both
 * between the frame header and the scan, where ITU-T T.81 (B.1.1.2, B.2.4.6) lets them stand; so every reader sees size
 * and metadata first. */
void demo_jpeg_file(struct demo_bytes *out, const struct demo_bytes *stream, const struct demo_bytes *exif,
                    const char *xmp, uint64_t least_bytes, struct demo_random random);

#endif
