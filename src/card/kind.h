/* SPDX-License-Identifier: ISC */
#ifndef HR_CARD_KIND_H
#define HR_CARD_KIND_H

#include <headrace/card.h>

/* By extension, case ignored. */
enum hr_card_file_kind hr__kind_of_path(const char *path);
/* A picture or a clip: what makes a frame a camera's. */
bool hr__kind_is_picture(enum hr_card_file_kind kind);
/* Bytes of `path` that name its frame, folder and stem: "A/B_0001.JPG" and "A/B_0001.JPG.XMP" both end before ".JPG".
 * A name that begins with its only dot is all stem. */
size_t hr__stem_length(const char *path);
/* Where DCF (CIPA DC-009) has a folder's number and a file's counter: the digits the folder's name begins with, three
 * at most, and those the stem ends in, four at most; 0 where there are none. */
void hr__path_numbers(unsigned *folder_number, unsigned *counter, const char *path);

#endif
