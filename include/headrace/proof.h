/* SPDX-License-Identifier: ISC */
/* How a reading was proven to come from the medium and not from memory. Stands in files and in the ledger by name. */
#ifndef HEADRACE_PROOF_H
#define HEADRACE_PROOF_H

#include <stdbool.h>

#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

enum hr_proof {
    HR_PROOF_NONE,
    HR_PROOF_CACHE,   /* read, but memory may have answered: tmpfs, FUSE, networks */
    HR_PROOF_EVICTED, /* the page cache was shown to hold none of the file before it was read, and the kernel counted
                         the bytes as fetched from the device */
    HR_PROOF_DIRECT   /* read past the page cache, and the kernel counted the bytes as fetched from the device */
};

/* "direct", "evicted", "cache", "none". */
HR_API const char *hr_proof_name(enum hr_proof proof);
/* HR_PROOF_NONE for any other name; NULL is allowed. */
HR_API enum hr_proof hr_proof_of_name(const char *name);
/* True when the proof says the bytes came from the medium. */
HR_API bool hr_proof_is_medium(enum hr_proof proof);

#ifdef __cplusplus
}
#endif
#endif
