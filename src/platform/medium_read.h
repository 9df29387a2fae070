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

/* The same for who asks the device for stretches of a file before they are wanted, so that it has several to work on.
 * Opens it; false where it cannot be or nothing can be shown, and then hr__medium_read is what remains. */
bool hr__medium_open_to_ask(struct hr_file *file, const struct hr_medium_read *wanted);
/* Sends what was asked for, on the thread of the count. True: the kernel counted the `bytes` that the device must read
 * for it, and what comes is as proven as HR_PROOF_DIRECT says; one that is shorter than expected takes that from all.
 */
bool hr__medium_send(struct hr_async_reads *reads, const struct hr_fetch_count *count, uint64_t bytes);
/* Memory for the last `bytes` of a file: a byte more, by which a file that is too long shows, up to the next border. */
size_t hr__medium_room_for(uint64_t bytes);

#endif
