/* SPDX-License-Identifier: ISC */
/* Files leaving a bag. The steps, each of which can be the last before a crash, as long as the file system renames a
 * file whole or not at all (exFAT need not):
 *
 *     1. the tag files as they will be are written beside the old ones, as `.NAME.next`
 *     2. the record of what leaves is written              from here on a later run goes on instead of beginning anew
 *     3. what leads to their new folders is made durable, they are renamed, and their digests written beside them
 *     4. the tag files are put in place, files.csv first   a record without a `.files.csv.next` is at this step
 *     5. the record goes
 *
 * Step 3 taken again finds files that left already. If not all could leave, step 1 is taken again for those that did.
 */
#ifndef HR_BAG_GIVING_H
#define HR_BAG_GIVING_H

#include <headrace/bag.h>

#include "bag/journal.h"
#include "platform/folder.h"

struct hr_given {
    const char *path, *to; /* as in hr_bag_leaving */
    enum hr_status status; /* HR_OK: it has left */
};

struct hr_giving {
    struct hr_folder folder; /* the bag's, locked */
    struct hr_folder beside; /* in which it stands */
    const char *name;        /* of the bag there; points into folder.path */
    struct hr_journal files; /* files.csv as it was before */
    struct hr_given *rows;   /* sorted by path */
    size_t count, capacity;
    char *text; /* the record, where it was read: rows point into it */
};

/* Adds a row, which borrows its strings. False: no memory. */
HR_MUST_USE bool hr__giving_add(struct hr_giving *giving, const char *path, const char *to);
/* By path; a file leaves once. */
void hr__giving_sort(struct hr_giving *giving);
struct hr_given *hr__giving_find(const struct hr_giving *giving, const char *path);

/* The record. HR_NOT_FOUND when there is none; HR_MALFORMED. */
HR_MUST_USE enum hr_status hr__giving_load(struct hr_giving *giving, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__giving_save(const struct hr_giving *giving, struct hr_fault *fault);

/* Step 3: each row gets its status; HR_OK also when some have not left. What fails as a whole is durability. */
HR_MUST_USE enum hr_status hr__giving_move(struct hr_giving *giving, struct hr_fault *fault);

/* Steps 1 and 4, for the rows whose status is HR_OK. */
HR_MUST_USE enum hr_status hr__giving_write_tags(const struct hr_giving *giving, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__giving_place_tags(const struct hr_giving *giving, struct hr_fault *fault);
/* Takes back step 1. */
void hr__giving_drop_tags(const struct hr_giving *giving);
/* *out: has step 4 begun? */
HR_MUST_USE enum hr_status hr__giving_is_placing(bool *out, const struct hr_giving *giving, struct hr_fault *fault);

#endif
