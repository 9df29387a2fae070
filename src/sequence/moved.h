/* SPDX-License-Identifier: ISC */
/* Files that left a bag for sequence folders beside it: they are delivered from there. */
#ifndef HR_SEQUENCE_MOVED_H
#define HR_SEQUENCE_MOVED_H

#include <headrace/bag.h>

#include "sequence/sequence_index.h"

struct hr_moved_file {
    const char *on_card; /* borrowed from the index */
    char *path;          /* absolute, owned */
    uint64_t size_bytes;
    struct hr_digest xxh128; /* from the manifest that stands with it; HR_DIGEST_NONE when it has none */
};

struct hr_moved {
    struct hr_moved_file *files;
    size_t count, capacity;
    struct hr_sequence_index index;
};

/* What the index beside a bag of ours names as its own, the bag lists no more, and stands in its sequence folder. Where
 * there is no index that can be read there is nothing. HR_NOMEM, HR_IO and HR_GONE alone fail; release it in any case.
 */
HR_MUST_USE enum hr_status hr__moved_find(struct hr_moved *out, const struct hr_bag_listing *listing,
                                          struct hr_fault *fault);
void hr__moved_finish(struct hr_moved *moved);

#endif
