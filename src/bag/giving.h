/* SPDX-License-Identifier: ISC */
/* Files leaving a bag. The steps, each of which can be the last before a crash:
 *
 *     1. the tag files as they will be are written beside the old ones, as `.NAME.next`
 *     2. the record of what leaves is written              from here on a later run goes on instead of beginning anew
 *     3. what leads to their new folders is made durable, they are renamed, or copied where a rename may be torn
 *        (hr_volume.renames_whole), and their digests written beside them
 *     4. the tag files are put in place, files.csv first
 *     5. the record goes
 *
 * A later run takes step 3 again, which finds files that left already and passes over those that files.csv has no more,
 * and writes the tag files anew from files.csv as it stands; where a torn rename took it, from `.files.csv.next`. So is
 * step 1 taken again if not all could leave. */
#ifndef HR_BAG_GIVING_H
#define HR_BAG_GIVING_H

#include <headrace/bag.h>
#include <headrace/cancel.h>

#include "bag/journal.h"
#include "platform/folder.h"

struct hr_given {
    const char *path, *to; /* as in hr_bag_leaving */
    enum hr_status status; /* HR_OK: it has left */
};

struct hr_giving {
    struct hr_folder folder;                        /* the bag's, locked */
    struct hr_folder beside;                        /* in which it stands */
    const char *name;                               /* of the bag there; points into folder.path */
    bool renames_whole;                             /* the volume */
    const struct hr_bag_leaving_observer *observer; /* NULL: nobody looks on */
    const struct hr_cancel *cancel;
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

/* Step 3: each row gets its status; HR_OK also when some have not left. What fails as a whole is durability, and
 * HR_CANCELLED leaves the rest for a later run. */
HR_MUST_USE enum hr_status hr__giving_move(struct hr_giving *giving, struct hr_fault *fault);
/* One file of it by way of a copy, from `from` to `to`, both below giving->beside. A copy that an earlier run left at
 * `to` is believed when it holds what is listed: HR_EXISTS when it does not. HR_DIFFERS: the copy does not hold what
 * the bag's manifest says, and the file stays. */
HR_MUST_USE enum hr_status hr__giving_carry(const struct hr_giving *giving, const char *from, const char *to,
                                            const struct hr_bag_file *listed);

/* Steps 1 and 4, for the rows whose status is HR_OK. */
HR_MUST_USE enum hr_status hr__giving_write_tags(const struct hr_giving *giving, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__giving_place_tags(const struct hr_giving *giving, struct hr_fault *fault);
/* XXH128 or SHA-256; of kind HR_DIGEST_NONE where there is none. */
const struct hr_digest *hr__giving_digest(const struct hr_bag_file *file, enum hr_digest_kind kind);
/* Where a tag file stands: its own name, or, where a torn rename took that, the one of what is to replace it. */
enum { HR_TAG_NAME_SIZE = 64 };
void hr__giving_standing(char out[HR_TAG_NAME_SIZE], const struct hr_giving *giving, const char *name);
/* Takes back step 1. */
void hr__giving_drop_tags(const struct hr_giving *giving);

#endif
