/* SPDX-License-Identifier: ISC */
#include <headrace/proof.h>

#include <string.h>

const char *hr_proof_name(enum hr_proof proof)
{
    switch (proof) {
    case HR_PROOF_DIRECT:
        return "direct";
    case HR_PROOF_EVICTED:
        return "evicted";
    case HR_PROOF_CACHE:
        return "cache";
    case HR_PROOF_NONE:
        break;
    }
    return "none";
}

bool hr_proof_is_medium(enum hr_proof proof)
{
    return proof == HR_PROOF_DIRECT || proof == HR_PROOF_EVICTED;
}

enum hr_proof hr_proof_of_name(const char *name)
{
    for (enum hr_proof proof = HR_PROOF_CACHE; name && proof <= HR_PROOF_DIRECT; proof++)
        if (!strcmp(hr_proof_name(proof), name))
            return proof;
    return HR_PROOF_NONE;
}
