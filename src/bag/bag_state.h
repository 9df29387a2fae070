/* SPDX-License-Identifier: ISC */
/* A bag being made. */
#ifndef HR_BAG_BAG_STATE_H
#define HR_BAG_BAG_STATE_H

#include <headrace/bag.h>

#include "bag/bag_log.h"
#include "bag/journal.h"
#include "platform/folder.h"

struct hr_bag {
    struct hr_folder place;
    struct hr_folder folder; /* the bag's; its descriptor carries the lock */
    char *below_place;       /* "JOB/NAME" */
    char *path, *data_path, *aside_path;
    char *identity, *description;
    struct hr_file journal;           /* open for appending */
    struct hr_hasher *journal_hasher; /* of what this run appended; NULL: not to be proven */
    uint64_t journal_before;          /* bytes that stood in it before */
    struct hr_bag_log throughput, frames;
    struct hr_journal resumed; /* rows of the run before */
    char **loose;              /* each owned, sorted: files below data/ without a row */
    size_t loose_count, loose_capacity;
    uint64_t loose_bytes;               /* of all of them */
    size_t rows_at_look, loose_at_look; /* how many hr_bag_look found */
    size_t recorded;                    /* rows of this run */
    bool is_new;                        /* made through this handle: ours to remove when nothing comes of it */
    bool made_job;                      /* and so is the job's folder */
    bool has_torn_row;                  /* the journal's last line has no end */
    bool is_finished;
};

/* A bag object for PLACE/JOB/`name`; no folder of it is made or opened yet. HR_INVALID for a label that cannot be
 * written down. */
HR_MUST_USE enum hr_status hr__bag_new(struct hr_bag **out, const char *place, const struct hr_bag_label *label,
                                       struct hr_fault *fault);
/* Its folder is called `name` from now on. */
HR_MUST_USE enum hr_status hr__bag_settle(struct hr_bag *bag, const char *job, const char *name,
                                          struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__bag_open_journal(struct hr_bag *bag, struct hr_fault *fault);

/* Fills `resumed` and `loose` from data/ and the journal, under whichever of its names that stands. */
HR_MUST_USE enum hr_status hr__bag_read_rows(struct hr_bag *bag, struct hr_fault *fault);

/* Takes back what a finishing that did not come to its end has made: the journal, logs and cover get their
 * temporary names again; what is derived from them is removed. Only for a bag without bagit.txt. */
HR_MUST_USE enum hr_status hr__bag_unfinish(struct hr_bag *bag, struct hr_fault *fault);

/* The cover, which says whose bag it will be until bag-info.txt does, written at once and durably. */
HR_MUST_USE enum hr_status hr__bag_put_cover(const struct hr_bag *bag, struct hr_fault *fault);
/* Does the cover, or what was made of it, name this card? `identity` NULL: any card. What cannot be read is told;
 * HR_NOT_FOUND when neither is there. */
HR_MUST_USE enum hr_status hr__bag_names_card(bool *out, const struct hr_folder *folder, const char *identity,
                                              struct hr_fault *fault);
/* Takes away what stands in a bag before its first file. False when it holds one, and is left as it is. */
bool hr__bag_clear(const struct hr_folder *bag);
/* Takes away what runs left in the job's folder that were cut off while they made a bag: it says of no card, so that
 * none would go on with it. As well as that goes. */
void hr__bag_clear_stubs(const struct hr_folder *job);

/* Writes `.NAME.part`, durably, reads it back and renames it. */
HR_MUST_USE enum hr_status hr__bag_write_tag(const struct hr_bag *bag, const char *part_name, const char *name,
                                             const struct hr_text *text, struct hr_fault *fault);

#endif
