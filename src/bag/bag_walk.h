/* SPDX-License-Identifier: ISC */
/* All that stands below a folder, links not followed. */
#ifndef HR_BAG_BAG_WALK_H
#define HR_BAG_BAG_WALK_H

#include "platform/folder.h"

struct hr_walked {
    char *path; /* owned; from the folder the walk was asked of */
    uint64_t size_bytes;
    enum hr_entry_kind kind; /* not HR_ENTRY_FOLDER, unless it could not be read */
    enum hr_status status;   /* what asking about it, or reading the folder, said */
};

struct hr_walk {
    struct hr_walked *files; /* sorted by path bytes */
    size_t count, capacity;
    char **folders; /* owned; each before those in it */
    size_t folder_count, folder_capacity;
};

/* All below `path` in `folder`; the paths begin with `path`. A folder that cannot be read is listed among the files
 * with its status. HR_NOT_FOUND when `folder` has no `path`, HR_GONE, HR_TOO_LARGE past HR_BAG_FILES_MAX files,
 * HR_NOMEM. On HR_OK the caller releases *out. */
HR_MUST_USE enum hr_status hr__bag_walk(struct hr_walk *out, const struct hr_folder *folder, const char *path,
                                        struct hr_fault *fault);
void hr__bag_walk_finish(struct hr_walk *walk);
/* NULL when it is not there. */
const struct hr_walked *hr__bag_walk_find(const struct hr_walk *walk, const char *path);

#endif
