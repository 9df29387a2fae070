/* SPDX-License-Identifier: ISC */
#ifndef HR_CARD_KIND_H
#define HR_CARD_KIND_H

#include <headrace/card.h>

/* By extension, case ignored. */
enum hr_card_file_kind hr__kind_of_path(const char *path);
/* A picture or a clip: what makes a frame a camera's. */
bool hr__kind_is_picture(enum hr_card_file_kind kind);

#endif
