/* SPDX-License-Identifier: ISC */
/* Digests of a byte stream.
 *
 * hr_hasher_create, hr_hasher_update any number of times, hr_hasher_finish once; hr_hasher_restart makes it new again.
 * One hasher belongs to one thread at a time. XXH128 is XXH3-128 with seed 0 (xxHash specification 0.8), the rest FIPS
 * 180-4 and RFC 1321. MD5, SHA-1, SHA-224 and SHA-384 are only for checking bags that others made. */
#ifndef HEADRACE_DIGEST_H
#define HEADRACE_DIGEST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

enum hr_digest_kind {
    HR_DIGEST_NONE = 0,
    HR_DIGEST_XXH64,
    HR_DIGEST_XXH3_64,
    HR_DIGEST_XXH128,
    HR_DIGEST_MD5,
    HR_DIGEST_SHA1,
    HR_DIGEST_SHA224,
    HR_DIGEST_SHA256,
    HR_DIGEST_SHA384,
    HR_DIGEST_SHA512,
    HR_DIGEST_KIND_COUNT
};

enum { HR_DIGEST_MAX_BYTES = 64, HR_DIGEST_HEX_SIZE = 2 * HR_DIGEST_MAX_BYTES + 1 };

/* Big-endian bytes, as the text form has them. A zeroed digest is HR_DIGEST_NONE. */
struct hr_digest {
    unsigned char bytes[HR_DIGEST_MAX_BYTES];
    uint8_t size;
    uint8_t kind; /* enum hr_digest_kind */
};

/* "xxh128", "sha256": the name in manifest-NAME.txt. NULL for HR_DIGEST_NONE. */
HR_API const char *hr_digest_kind_name(enum hr_digest_kind kind);
/* HR_DIGEST_NONE for an unknown name; letters of either case. */
HR_API enum hr_digest_kind hr_digest_kind_of_name(const char *name);
HR_API size_t hr_digest_kind_size(enum hr_digest_kind kind);

HR_API char *hr_digest_to_hex(char out[HR_DIGEST_HEX_SIZE], const struct hr_digest *digest);
/* False unless `hex` is exactly the right number of hex digits of either case; `hex_size` excludes a NUL. */
HR_API HR_MUST_USE bool hr_digest_from_hex(struct hr_digest *out, enum hr_digest_kind kind, const char *hex,
                                           size_t hex_size);
/* Same kind and same bytes. Two HR_DIGEST_NONE are not equal. */
HR_API HR_MUST_USE bool hr_digest_equal(const struct hr_digest *a, const struct hr_digest *b);

struct hr_hasher;

/* On HR_OK the caller owns *out (hr_hasher_destroy, which takes NULL). HR_NOMEM, HR_INVALID for HR_DIGEST_NONE,
 * HR_UNSUPPORTED where the system's cryptography forbids the kind. */
HR_API HR_MUST_USE enum hr_status hr_hasher_create(struct hr_hasher **out, enum hr_digest_kind kind,
                                                   struct hr_fault *fault);
HR_API void hr_hasher_destroy(struct hr_hasher *hasher);
HR_API void hr_hasher_restart(struct hr_hasher *hasher);
HR_API void hr_hasher_update(struct hr_hasher *hasher, const void *bytes, size_t size);
HR_API struct hr_digest hr_hasher_finish(struct hr_hasher *hasher);

#ifdef __cplusplus
}
#endif
#endif
