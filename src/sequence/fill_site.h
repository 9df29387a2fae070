/* SPDX-License-Identifier: ISC */
/* One `sequences` folder that is being filled: that of one job in one place. Steps, in this order:
 *
 *     hr__fill_sites_find    which there are
 *     hr__fill_site_open     makes and locks the folder, reads its index
 *     hr__fill_site_match    what of the grouping stands there already, what joins it, what is new
 *     hr__fill_site_name     names for what is new
 *     hr__fill_site_fill     index, files, index again
 */
#ifndef HR_SEQUENCE_FILL_SITE_H
#define HR_SEQUENCE_FILL_SITE_H

#include <headrace/sequence.h>

#include "base/text.h"
#include "platform/folder.h"
#include "sequence/sequence_index.h"

/* What was asked, and what all sites share. */
struct hr_filling {
    const struct hr_delivered *delivered;
    const struct hr_grouping *grouping;
    const struct hr_fill_options *options;
    const struct hr_cancel *cancel;
    char **body_names; /* one a body of the grouping */
};

/* How far the files of one site are. */
struct hr_fill_watch {
    const struct hr_sequence_observer *observer; /* NULL: nobody looks on */
    int64_t began_ns;
    struct hr_sequence_progress progress;
};

/* How filling one folder went. */
struct hr_fill_count {
    size_t files_new, files_there, files_failed;
    struct hr_fault fault;
};

struct hr_fill_site {
    uint32_t place;
    const char *job;
    char *below;                /* "JOB/sequences", from the place */
    struct hr_folder folder;    /* the place */
    struct hr_folder sequences; /* locked; open where it can be written to */
    struct hr_sequence_index index;
    bool has_index;             /* it was written */
    struct hr_fill_count *done; /* one a folder of the index, once filled */
    enum hr_fill fill;
    size_t frames_missing; /* frames of sequences that are not in this place */
    struct hr_text sentence;
    struct hr_fault fault; /* why nothing can be done here */
    struct hr_fill_watch watch;
};

struct hr_fill_sites {
    struct hr_fill_site *sites;
    size_t count, capacity;
};

/* By place, then by first sequence. Whatever comes back, the caller releases them. */
HR_MUST_USE enum hr_status hr__fill_sites_find(struct hr_fill_sites *out, const struct hr_filling *filling,
                                               struct hr_fault *fault);
void hr__fill_sites_finish(struct hr_fill_sites *sites);

/* So many files of the site are done, or could not be. */
void hr__fill_tell(struct hr_fill_site *site, size_t files_done);
/* Adds to what a person is told of the site. */
void hr__fill_say(struct hr_fill_site *site, const char *sentence);

/* The copy of the logical file that begins at `*at` which stands in `place`, SIZE_MAX when none does; *at moves to the
 * next logical file, which ends at `end`. */
size_t hr__fill_copy_in(const struct hr_delivered *delivered, size_t *at, size_t end, uint32_t place);
/* The part of a delivered file's path below its place; NULL when it is not below. */
const char *hr__fill_below_place(const struct hr_delivered *delivered, const struct hr_delivered_file *file);

/* What goes wrong with the folder stands in site->fault; HR_NOMEM alone is returned. */
HR_MUST_USE enum hr_status hr__fill_site_open(struct hr_fill_site *site, const struct hr_filling *filling,
                                              struct hr_fault *fault);
/* HR_NOMEM. */
HR_MUST_USE enum hr_status hr__fill_site_match(struct hr_fill_site *site, const struct hr_filling *filling,
                                               struct hr_fault *fault);
/* Names for the bodies: as asked, as the sites' indexes have them, else letters nobody has. HR_NOMEM. */
HR_MUST_USE enum hr_status hr__fill_bodies_name(struct hr_filling *filling, const struct hr_fill_sites *sites,
                                                struct hr_fault *fault);
/* HR_NOMEM. */
HR_MUST_USE enum hr_status hr__fill_site_name(struct hr_fill_site *site, const struct hr_filling *filling,
                                              struct hr_fault *fault);
/* The columns of a folder that come from the grouping. HR_NOMEM. */
HR_MUST_USE enum hr_status hr__fill_describe(struct hr_sequence_index *index, struct hr_sequence_folder *folder,
                                             const struct hr_filling *filling, struct hr_fault *fault);
/* HR_CANCELLED, HR_NOMEM; all else stands in the site. */
HR_MUST_USE enum hr_status hr__fill_site_fill(struct hr_fill_site *site, const struct hr_filling *filling,
                                              struct hr_fault *fault);
/* Moves what is not there yet; the count of each folder grows. HR_CANCELLED, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__fill_move(struct hr_fill_site *site, const struct hr_filling *filling);
/* Brings one file into the sequence folder `folder` (below the place); `fill` is link, reflink or copy. HR_EXISTS when
 * another file stands there under its name; *was_there when it is this one. */
HR_MUST_USE enum hr_status hr__fill_file(bool *was_there, const struct hr_fill_site *site, const char *folder,
                                         const struct hr_sequence_file *file, const struct hr_filling *filling,
                                         struct hr_fault *fault);

#endif
