/* SPDX-License-Identifier: ISC */
/* Walks the image file directories of a TIFF block (TIFF 6.0; CIPA DC-008 for the Exif directory) and notes the facts
 * it meets. */
#ifndef HR_MEDIA_EXIF_IFD_H
#define HR_MEDIA_EXIF_IFD_H

#include "media/media_reader.h"

/* What a directory tells about. */
enum hr_exif_directory {
    HR_EXIF_FIRST = 1,   /* the file: model, orientation, pointers to the others, in a TIFF file a picture as well */
    HR_EXIF_PICTURE = 2, /* another picture: next in the chain, or a SubIFD */
    HR_EXIF_PRIVATE = 4, /* the press of the button: times, serial */
    HR_EXIF_MULTI = 8    /* the pictures that follow the first in a JPEG file (CIPA DC-007) */
};

enum hr_exif_block {
    HR_EXIF_BLOCK_ATTACHED, /* beside a picture that says its own size */
    HR_EXIF_BLOCK_FILE,     /* the file is this TIFF block: directories hold its pictures */
    HR_EXIF_BLOCK_PRIVATE,  /* attached, and the first directory is the Exif directory */
    HR_EXIF_BLOCK_MULTI     /* attached, and the first directory lists the file's pictures */
};

/* TIFF byte order and magic number, or one of those that raw formats put in its stead. */
bool hr__tiff_recognises(const unsigned char *head);
/* The block starts at `base` with its byte order and ends before `end`. */
void hr__exif_start(struct hr_media_reader *reader, uint64_t base, uint64_t end, enum hr_exif_block block);
/* Reads the directory `offset` bytes into the block that `block` tells of, unless it was read before. */
void hr__exif_want_directory(struct hr_media_reader *reader, const struct hr_media_context *block, uint32_t offset,
                             enum hr_exif_directory directory);

#endif
