/* SPDX-License-Identifier: ISC */
/* One way of making a digest. digest_xxhash.c and digest_evp.c fill these; hasher.c finds them by kind. */
#ifndef HR_DIGEST_ALGORITHM_H
#define HR_DIGEST_ALGORITHM_H

#include <stdbool.h>
#include <stddef.h>

#include <headrace/status.h>

struct hr_digest_algorithm {
    /* On HR_OK *state is ready for bytes. HR_NOMEM, HR_UNSUPPORTED. */
    enum hr_status (*create)(void **state, struct hr_fault *fault);
    void (*destroy)(void *state); /* takes NULL */
    /* False when the library failed: the digest must then not be used. `size` is never 0. */
    bool (*restart)(void *state);
    bool (*update)(void *state, const void *bytes, size_t size);
    /* Writes exactly the kind's size, big-endian. */
    bool (*finish)(void *state, unsigned char *out);
};

extern const struct hr_digest_algorithm hr__digest_xxh64, hr__digest_xxh3_64, hr__digest_xxh128;
extern const struct hr_digest_algorithm hr__digest_md5, hr__digest_sha1, hr__digest_sha224, hr__digest_sha256,
    hr__digest_sha384, hr__digest_sha512;

#endif
