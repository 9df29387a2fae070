/* SPDX-License-Identifier: ISC */
/* What a body writes into the head of a picture: Exif 2.32 (CIPA DC-008) and an XMP packet with the rating. */
#ifndef DEMO_EXIF_H
#define DEMO_EXIF_H

#include "demo_plan.h"
#include "demo_tiff.h"

struct demo_exposure {
    unsigned width_pixels, height_pixels;
    unsigned clock_resolution_ms;
};

/* Appends the whole block for a JPEG: IFD0, Exif, and IFD1 with the thumbnail (a JPEG stream). */
void demo_exif_block(struct demo_bytes *out, const struct demo_frame *frame, const struct demo_exposure *exposure,
                     const struct demo_bytes *thumbnail);
/* The entries of IFD0 that every file of a frame shares, and the Exif directory. */
void demo_exif_add_camera(struct demo_ifd *ifd, const struct demo_frame *frame);
void demo_exif_add_exposure(struct demo_ifd *ifd, const struct demo_frame *frame, const struct demo_exposure *exposure);

enum { DEMO_XMP_SIZE = 640, DEMO_TAG_EXIF = 0x8769 };
/* "" when the frame has no rating. */
void demo_exif_xmp(char xmp[DEMO_XMP_SIZE], const struct demo_frame *frame);

#endif
