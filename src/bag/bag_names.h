/* SPDX-License-Identifier: ISC */
/* What our bags call their files, and what may be a path in anybody's. */
#ifndef HR_BAG_BAG_NAMES_H
#define HR_BAG_BAG_NAMES_H

#include <stdbool.h>
#include <stddef.h>

#include "platform/folder.h"

#define HR_BAG_DECLARATION "bagit.txt"
#define HR_BAG_INFO "bag-info.txt"
#define HR_BAG_INFO_PART ".bag-info.txt.part"             /* the cover of a bag that is being filled */
#define HR_BAG_INFO_PART_PART "..bag-info.txt.part.part"  /* as hr__folder_put calls that while it writes it */
#define HR_BAG_INFO_FINAL_PART ".bag-info.txt.final.part" /* the other name is taken by the cover */
#define HR_BAG_FILES "files.csv"
#define HR_BAG_FILES_PART ".files.csv.part"
#define HR_BAG_THROUGHPUT "throughput.csv"
#define HR_BAG_THROUGHPUT_PART ".throughput.csv.part"
#define HR_BAG_FRAMES "frames.csv"
#define HR_BAG_FRAMES_PART ".frames.csv.part"
#define HR_BAG_MANIFEST_XXH128 "manifest-xxh128.txt"
#define HR_BAG_MANIFEST_SHA256 "manifest-sha256.txt"
#define HR_BAG_TAGMANIFEST "tagmanifest-sha256.txt"
#define HR_BAG_DATA "data"
#define HR_BAG_GIVING_UP ".giving-up.csv" /* what is leaving a finished bag */

enum {
    HR_BAG_FILES_MAX = 1 << 22,   /* in one bag */
    HR_BAG_TAG_FILE_MAX = 1 << 30 /* bytes of one tag file we read into memory */
};

/* YYYYMMDD-HHMMSS_CARD, or YYYYMMDD-HHMMSS-2_CARD where that stood: the card's name in it and the number, 1 when none.
 * NULL when `name` is not of that form. */
const char *hr__bag_name_card(const char *name, unsigned *number);
/* Fit for one folder below another: not empty, no "/", no control character, does not begin with ".". */
bool hr__bag_name_is_fit(const char *name);
/* Does a file of that name stand in it? Of what cannot be asked there is no answer, but what the system said. */
HR_MUST_USE enum hr_status hr__bag_holds(bool *out, const struct hr_folder *folder, const char *name,
                                         struct hr_fault *fault);
/* Is it, or was it to be, a bag of ours but has no bagit.txt? */
HR_MUST_USE enum hr_status hr__bag_is_unfinished(bool *out, const struct hr_folder *folder, struct hr_fault *fault);

/* May this path be looked for below a bag? Not absolute, no "..", and nothing another system would take for a way out:
 * "~", "C:", a leading backslash. */
bool hr__bag_path_is_safe(const char *path);
/* The same, and below data/. */
bool hr__bag_path_is_payload(const char *path);

#endif
