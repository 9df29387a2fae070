/* SPDX-License-Identifier: ISC */
/* Reading a file whole, and knowing whether its bytes came from the medium. */
#ifndef HR_PLATFORM_MEDIUM_READ_H
#define HR_PLATFORM_MEDIUM_READ_H

#include <headrace/proof.h>

#include "platform/async_read.h"
#include "platform/folder.h"

struct hr_medium_read {
    const struct hr_folder *folder;
    const char *path;
    const char *shown; /* in faults */
    const struct hr_fetch_count
        *count; /* of this thread; NULL where the volume is not counted (hr__volume_is_counted) */
    /* Reads the open file from its beginning to its end, in whole blocks of aligned memory, and says how much that was,
     * with what else this thread fetched meanwhile. Called a second time, from the beginning again, when the first
     * reading proved nothing. */
    enum hr_status (*read)(void *context, uint64_t *fetched_bytes, const struct hr_file *file, struct hr_fault *fault);
    void *context;
};

/* Reads past the page cache where the filesystem takes that. On a counted volume, when the kernel's count of bytes this
 * thread fetched from devices does not grow by as much, memory may have answered (btrfs does so right after a sync):
 * the cache is then emptied, shown to hold none of the file, and the file read anew. *proof says what could be shown.
 * What opening the file or `read` says. */
HR_MUST_USE enum hr_status hr__medium_read(enum hr_proof *proof, const struct hr_medium_read *wanted,
                                           struct hr_fault *fault);

/* A small file that is asked of its device before it is wanted, so that the device has several to work on. */
struct hr_medium_fetch {
    struct hr_file file; /* open: the device was asked for all of it, by the kernel's count */
    size_t number;       /* in hr_async_reads */
    uint64_t size;
    const unsigned char *bytes;
};
#define HR_MEDIUM_FETCH_NONE ((struct hr_medium_fetch){.file = HR_FILE_CLOSED})

/* Where it goes, and how much of it there must be. */
struct hr_medium_room {
    struct hr_async_reads *reads; /* of the thread of the count */
    size_t number;                /* that is not under way */
    unsigned char *memory;        /* of hr__medium_room_for(size), until the fetch is over */
    uint64_t size;
};
/* A byte more, by which a file that is too long shows, up to the next border. */
size_t hr__medium_room_for(uint64_t size);

/* Asks for the file past the page cache, and does not wait. fetch->file is not open where that cannot be or cannot be
 * shown, and for an empty file; then hr__medium_read is what remains. wanted->shown lives as long as the
 * fetch. */
void hr__medium_fetch(struct hr_medium_fetch *fetch, const struct hr_medium_read *wanted,
                      const struct hr_medium_room *room);
/* Waits for what was fetched, which is over then. Its bytes, fetch->size of them and as proven as HR_PROOF_DIRECT says,
 * or NULL: something else came, and hr__medium_read says what. */
const unsigned char *hr__medium_fetched(struct hr_medium_fetch *fetch, struct hr_async_reads *reads);

#endif
