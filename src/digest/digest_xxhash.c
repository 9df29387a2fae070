/* SPDX-License-Identifier: ISC */
#include "digest/algorithm.h"

#include <string.h>
#include HR_XXHASH_HEADER /* set by CMakeLists.txt */

#include "base/fault.h"

static enum hr_status start(void **out, void *state, bool (*restart)(void *state), struct hr_fault *fault)
{
    if (!state)
        return hr__fault_nomem(fault, "a digest");
    restart(state);
    *out = state;
    return HR_OK;
}

static bool xxh64_restart(void *state)
{
    return XXH64_reset(state, 0) == XXH_OK;
}

static enum hr_status xxh64_create(void **state, struct hr_fault *fault)
{
    return start(state, XXH64_createState(), xxh64_restart, fault);
}

static void xxh64_destroy(void *state)
{
    XXH64_freeState(state);
}

static bool xxh64_update(void *state, const void *bytes, size_t size)
{
    return XXH64_update(state, bytes, size) == XXH_OK;
}

static bool write_64(unsigned char *out, XXH64_hash_t hash)
{
    XXH64_canonical_t canonical;
    XXH64_canonicalFromHash(&canonical, hash);
    memcpy(out, canonical.digest, sizeof canonical.digest);
    return true;
}

static bool xxh64_finish(void *state, unsigned char *out)
{
    return write_64(out, XXH64_digest(state));
}

static void xxh3_destroy(void *state)
{
    XXH3_freeState(state);
}

static bool xxh3_restart(void *state)
{
    return XXH3_64bits_reset(state) == XXH_OK;
}

static enum hr_status xxh3_create(void **state, struct hr_fault *fault)
{
    return start(state, XXH3_createState(), xxh3_restart, fault);
}

static bool xxh3_update(void *state, const void *bytes, size_t size)
{
    return XXH3_64bits_update(state, bytes, size) == XXH_OK;
}

static bool xxh3_finish(void *state, unsigned char *out)
{
    return write_64(out, XXH3_64bits_digest(state));
}

static bool xxh128_restart(void *state)
{
    return XXH3_128bits_reset(state) == XXH_OK;
}

static enum hr_status xxh128_create(void **state, struct hr_fault *fault)
{
    return start(state, XXH3_createState(), xxh128_restart, fault);
}

static bool xxh128_update(void *state, const void *bytes, size_t size)
{
    return XXH3_128bits_update(state, bytes, size) == XXH_OK;
}

static bool xxh128_finish(void *state, unsigned char *out)
{
    XXH128_canonical_t canonical;
    XXH128_canonicalFromHash(&canonical, XXH3_128bits_digest(state));
    memcpy(out, canonical.digest, sizeof canonical.digest);
    return true;
}

const struct hr_digest_algorithm hr__digest_xxh64 = {xxh64_create, xxh64_destroy, xxh64_restart, xxh64_update,
                                                     xxh64_finish};
const struct hr_digest_algorithm hr__digest_xxh3_64 = {xxh3_create, xxh3_destroy, xxh3_restart, xxh3_update,
                                                       xxh3_finish};
const struct hr_digest_algorithm hr__digest_xxh128 = {xxh128_create, xxh3_destroy, xxh128_restart, xxh128_update,
                                                      xxh128_finish};
