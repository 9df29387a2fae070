/* SPDX-License-Identifier: ISC */
/* A bag while it is being verified: what its files say, what stands there, and the report that grows from both. */
#ifndef HR_BAG_INSPECTION_H
#define HR_BAG_INSPECTION_H

#include <headrace/bag.h>

#include "bag/bag_walk.h"
#include "bag/journal.h"
#include "bag/tag_file.h"
#include "platform/folder.h"

enum { HR_MANIFESTS_MAX = 16, HR_SHOWN_SIZE = 256 };

struct hr_manifest_file {
    char *name;                /* owned; "manifest-sha256.txt" */
    char shown[HR_SHOWN_SIZE]; /* it, for a problem's text */
    enum hr_digest_kind kind;  /* HR_DIGEST_NONE: an algorithm we do not have */
    char *text;                /* owned; UTF-8; what is listed points into it */
    size_t size;
};

/* A payload file that some manifest lists. */
struct hr_listed {
    const char *path;                      /* within the bag */
    unsigned manifests;                    /* bits of those that list it */
    bool is_standing;                      /* as a regular file that can be tried */
    const char *hex[HR_DIGEST_KIND_COUNT]; /* what it must be, by kind; NULL where nobody says */
};

struct hr_inspection {
    struct hr_folder folder;
    struct hr_bag_report *report;
    const struct hr_bag_verify_options *options;
    const struct hr_cancel *cancel;
    int64_t started_ns;
    struct hr_declaration declaration;
    bool is_unfinished;
    bool is_unreadable;       /* a rule is broken so that nothing else can be told */
    bool has_lost_problem;    /* memory was out */
    struct hr_entry *entries; /* of the bag's own folder */
    size_t entry_count;
    struct hr_manifest_file manifests[HR_MANIFESTS_MAX], tag_manifests[HR_MANIFESTS_MAX];
    size_t manifest_count, tag_manifest_count;
    struct hr_listed *listed; /* sorted by path */
    size_t listed_count, listed_capacity;
    struct hr_walk data;    /* below data/; paths within the bag */
    struct hr_journal rows; /* files.csv, where it is ours */
    size_t problem_capacity, proof_capacity;
};

/* `path` is taken as it is. Whatever else the bag says goes through hr__inspection_shown: a stranger may have written
 * it. */
HR_PRINTF(4, 5)
void hr__inspection_problem(struct hr_inspection *inspection, enum hr_bag_problem_kind kind, const char *path,
                            const char *format, ...);
/* `said` escaped, and cut where it is long. Returns `out`. */
const char *hr__inspection_shown(char out[HR_SHOWN_SIZE], const char *said);
/* NULL when no payload manifest lists `path` (within the bag). */
struct hr_listed *hr__inspection_listed(const struct hr_inspection *inspection, const char *path);
/* Opens the bag at `path` and fills the report with what its names say, and the rows where it is ours. `inspection` is
 * zeroed but for what it is given. HR_NOT_FOUND when there is no bag, HR_GONE, HR_NOMEM. Finish is due, however that
 * went. */
HR_MUST_USE enum hr_status hr__inspection_begin(struct hr_inspection *inspection, const char *path,
                                                struct hr_fault *fault);
void hr__inspection_finish(struct hr_inspection *inspection);
/* A tag file as UTF-8; a problem is told when it cannot be read. *text is NULL then, else owned by the caller. */
HR_MUST_USE enum hr_status hr__inspection_load(char **text, size_t *size, struct hr_inspection *inspection,
                                               const char *name, struct hr_fault *fault);

/* The steps, in the order they are taken. HR_NOMEM, HR_GONE, HR_CANCELLED end the whole; all else is a problem. */
HR_MUST_USE enum hr_status hr__inspect_declaration(struct hr_inspection *inspection, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__inspect_manifests(struct hr_inspection *inspection, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__inspect_presence(struct hr_inspection *inspection, struct hr_fault *fault);
/* What bag-info.txt says, against what was found before. */
HR_MUST_USE enum hr_status hr__inspect_info(struct hr_inspection *inspection, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__inspect_tags(struct hr_inspection *inspection, struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__inspect_payload(struct hr_inspection *inspection, struct hr_fault *fault);

#endif
