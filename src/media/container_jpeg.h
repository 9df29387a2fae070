/* SPDX-License-Identifier: ISC */
/* JPEG inside another container. */
#ifndef HR_MEDIA_CONTAINER_JPEG_H
#define HR_MEDIA_CONTAINER_JPEG_H

#include "media/media_reader.h"

enum hr_jpeg_role {
    HR_JPEG_IS_PICTURE,
    HR_JPEG_IS_PREVIEW /* its size is not that of the picture */
};

/* A JPEG that starts at `base` and ends before `end`, both within the file. */
void hr__jpeg_start(struct hr_media_reader *reader, uint64_t base, uint64_t end, enum hr_jpeg_role role);

#endif
