/* SPDX-License-Identifier: ISC */
#include <headrace/digest.h>

#include <stdlib.h>

#include "base/fault.h"
#include "digest/algorithm.h"

struct hr_hasher {
    const struct hr_digest_algorithm *algorithm;
    void *state; /* owned */
    enum hr_digest_kind kind;
    bool broken; /* the library failed on the way: finish then answers HR_DIGEST_NONE, which equals nothing */
};

static const struct hr_digest_algorithm *const algorithms[HR_DIGEST_KIND_COUNT] = {
    [HR_DIGEST_XXH64] = &hr__digest_xxh64,   [HR_DIGEST_XXH3_64] = &hr__digest_xxh3_64,
    [HR_DIGEST_XXH128] = &hr__digest_xxh128, [HR_DIGEST_MD5] = &hr__digest_md5,
    [HR_DIGEST_SHA1] = &hr__digest_sha1,     [HR_DIGEST_SHA256] = &hr__digest_sha256,
    [HR_DIGEST_SHA224] = &hr__digest_sha224, [HR_DIGEST_SHA384] = &hr__digest_sha384,
    [HR_DIGEST_SHA512] = &hr__digest_sha512,
};

enum hr_status hr_hasher_create(struct hr_hasher **out, enum hr_digest_kind kind, struct hr_fault *fault)
{
    if (kind == HR_DIGEST_NONE || (unsigned)kind >= HR_DIGEST_KIND_COUNT)
        return hr__fault_set(fault, HR_INVALID, 0, "no such digest");
    struct hr_hasher *hasher = calloc(1, sizeof *hasher);
    if (!hasher)
        return hr__fault_nomem(fault, "a digest");
    hasher->kind = kind;
    hasher->algorithm = algorithms[kind];
    enum hr_status status = hasher->algorithm->create(&hasher->state, fault);
    if (status == HR_OK)
        *out = hasher;
    else
        hr_hasher_destroy(hasher);
    return status;
}

void hr_hasher_destroy(struct hr_hasher *hasher)
{
    if (!hasher)
        return;
    hasher->algorithm->destroy(hasher->state);
    free(hasher);
}

void hr_hasher_restart(struct hr_hasher *hasher)
{
    hasher->broken = !hasher->algorithm->restart(hasher->state);
}

void hr_hasher_update(struct hr_hasher *hasher, const void *bytes, size_t size)
{
    /* A state that failed may not be fed: the library falls over it. */
    if (size > 0 && !hasher->broken)
        hasher->broken = !hasher->algorithm->update(hasher->state, bytes, size);
}

struct hr_digest hr_hasher_finish(struct hr_hasher *hasher)
{
    struct hr_digest digest = {.size = (uint8_t)hr_digest_kind_size(hasher->kind), .kind = (uint8_t)hasher->kind};
    if (hasher->broken || !hasher->algorithm->finish(hasher->state, digest.bytes))
        return (struct hr_digest){0};
    return digest;
}
