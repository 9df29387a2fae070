/* SPDX-License-Identifier: ISC */
/* A clip: a .MOV (ISO/IEC 14496-12 boxes, brand "qt  ") of JPEG pictures, one after the other, `moov` at the end as
 * many bodies write it. */
#ifndef DEMO_CLIP_H
#define DEMO_CLIP_H

#include "demo_bytes.h"

enum { DEMO_CLIP_PER_S = 25 };

struct demo_clip {
    unsigned width_pixels, height_pixels;
    int64_t time_ns;         /* UTC */
    size_t data_at;          /* of the open mdat box */
    struct demo_bytes sizes; /* of the pictures so far, 4 bytes each, big-endian */
};

/* Begin, add each picture (a JPEG stream), end. */
void demo_clip_begin(struct demo_clip *clip, struct demo_bytes *out, unsigned width_pixels, unsigned height_pixels,
                     int64_t time_ns);
void demo_clip_add(struct demo_clip *clip, struct demo_bytes *out, const struct demo_bytes *picture);
void demo_clip_end(struct demo_clip *clip, struct demo_bytes *out);

#endif
