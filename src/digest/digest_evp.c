/* SPDX-License-Identifier: ISC */
#include "digest/algorithm.h"

#include <openssl/crypto.h>
#include <openssl/err.h>
#include <openssl/evp.h>

#include "base/fault.h"

/* Else memory was out, which the library does not always say. */
static bool was_refused(void)
{
    bool is_unsupported = false, has_memory = true;
    for (unsigned long error; (error = ERR_get_error());) {
        is_unsupported |= ERR_GET_REASON(error) == ERR_R_UNSUPPORTED;
        has_memory &= ERR_GET_REASON(error) != ERR_R_MALLOC_FAILURE;
    }
    return is_unsupported && has_memory;
}

/* A policy of the system (FIPS) may take MD5 or SHA-1 away: that shows here and nowhere later. */
static enum hr_status create(void **state, const EVP_MD *type, struct hr_fault *fault)
{
    /* Where there was no memory for the library's own beginnings, the rest of it falls over their absence. */
    EVP_MD_CTX *context = OSSL_LIB_CTX_get0_global_default() ? EVP_MD_CTX_new() : NULL;
    if (!context)
        return hr__fault_nomem(fault, "a digest");
    ERR_clear_error();
    if (EVP_DigestInit_ex(context, type, NULL) != 1) {
        EVP_MD_CTX_free(context);
        if (!was_refused())
            return hr__fault_nomem(fault, "a digest");
        return hr__fault_set(fault, HR_UNSUPPORTED, 0, "this system's cryptography does not allow %s",
                             EVP_MD_get0_name(type));
    }
    *state = context;
    return HR_OK;
}

static enum hr_status md5_create(void **state, struct hr_fault *fault)
{
    return create(state, EVP_md5(), fault);
}

static enum hr_status sha1_create(void **state, struct hr_fault *fault)
{
    return create(state, EVP_sha1(), fault);
}

static enum hr_status sha224_create(void **state, struct hr_fault *fault)
{
    return create(state, EVP_sha224(), fault);
}

static enum hr_status sha256_create(void **state, struct hr_fault *fault)
{
    return create(state, EVP_sha256(), fault);
}

static enum hr_status sha384_create(void **state, struct hr_fault *fault)
{
    return create(state, EVP_sha384(), fault);
}

static enum hr_status sha512_create(void **state, struct hr_fault *fault)
{
    return create(state, EVP_sha512(), fault);
}

static void evp_destroy(void *state)
{
    EVP_MD_CTX_free(state);
}

static bool evp_restart(void *state)
{
    return EVP_DigestInit_ex(state, NULL, NULL) == 1;
}

static bool evp_update(void *state, const void *bytes, size_t size)
{
    return EVP_DigestUpdate(state, bytes, size) == 1;
}

static bool evp_finish(void *state, unsigned char *out)
{
    return EVP_DigestFinal_ex(state, out, NULL) == 1;
}

const struct hr_digest_algorithm hr__digest_md5 = {md5_create, evp_destroy, evp_restart, evp_update, evp_finish};
const struct hr_digest_algorithm hr__digest_sha1 = {sha1_create, evp_destroy, evp_restart, evp_update, evp_finish};
const struct hr_digest_algorithm hr__digest_sha256 = {sha256_create, evp_destroy, evp_restart, evp_update, evp_finish};
const struct hr_digest_algorithm hr__digest_sha224 = {sha224_create, evp_destroy, evp_restart, evp_update, evp_finish};
const struct hr_digest_algorithm hr__digest_sha384 = {sha384_create, evp_destroy, evp_restart, evp_update, evp_finish};
const struct hr_digest_algorithm hr__digest_sha512 = {sha512_create, evp_destroy, evp_restart, evp_update, evp_finish};
