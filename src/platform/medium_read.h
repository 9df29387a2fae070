/* SPDX-License-Identifier: ISC */
/* Reading a file whole, and knowing whether its bytes came from the medium. */
#ifndef HR_PLATFORM_MEDIUM_READ_H
#define HR_PLATFORM_MEDIUM_READ_H

#include <headrace/proof.h>

#include "platform/folder.h"

struct hr_medium_read {
    const struct hr_folder *folder;
    const char *path;
    const char *shown; /* in faults */
    const struct hr_fetch_count
        *count; /* of this thread; NULL where the volume is not counted (hr__volume_is_counted) */
    /* Reads the open file from its beginning to its end, in whole blocks of aligned memory, and says how much that was.
     * Called a second time, from the beginning again, when the first reading proved nothing. */
    enum hr_status (*read)(void *context, uint64_t *size_bytes, const struct hr_file *file, struct hr_fault *fault);
    void *context;
};

/* Reads past the page cache where the filesystem takes that. On a counted volume, when the kernel's count of bytes this
 * thread fetched from devices does not grow by as much, memory may have answered (btrfs does so right after a sync):
 * the cache is then emptied, shown to hold none of the file, and the file read anew. *proof says what could be shown.
 * What opening the file or `read` says. */
HR_MUST_USE enum hr_status hr__medium_read(enum hr_proof *proof, const struct hr_medium_read *wanted,
                                           struct hr_fault *fault);

/* A file that is asked of its device before it is read, so that the device has several to work on. */
struct hr_medium_fetch {
    struct hr_file
        file; /* open: none of it was in memory, and the device was asked for all of it, by the kernel's count */
};
#define HR_MEDIUM_FETCH_NONE ((struct hr_medium_fetch){.file = HR_FILE_CLOSED})

/* Asks for the file, on the thread of the count, and does not wait. *fetch stays HR_MEDIUM_FETCH_NONE where that cannot
 * be or cannot be shown; then hr__medium_read is what remains. The file should be small: it stands in memory until
 * read. wanted->path and ->shown live as long as the fetch. */
void hr__medium_fetch(struct hr_medium_fetch *fetch, const struct hr_medium_read *wanted);
/* hr__medium_read of what was fetched, which is over then. */
HR_MUST_USE enum hr_status hr__medium_read_fetched(enum hr_proof *proof, const struct hr_medium_read *wanted,
                                                   struct hr_medium_fetch *fetch, struct hr_fault *fault);
void hr__medium_fetch_drop(struct hr_medium_fetch *fetch);

#endif
