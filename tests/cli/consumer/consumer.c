/* SPDX-License-Identifier: ISC */
/* A program of somebody else's, against the installed library: the digest of "abc" must be the one of FIPS 180-4's
 * example (NIST, "Examples with Intermediate Values", SHA-256, one block). */
#include <stdio.h>
#include <string.h>

#include <headrace/headrace.h>

int main(void)
{
    static const char expected[] = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    char hex[HR_DIGEST_HEX_SIZE] = "";
    struct hr_fault fault = {0};
    struct hr_hasher *hasher = NULL;
    if (hr_hasher_create(&hasher, HR_DIGEST_SHA256, &fault) == HR_OK) {
        hr_hasher_update(hasher, "abc", 3);
        const struct hr_digest digest = hr_hasher_finish(hasher);
        hr_digest_to_hex(hex, &digest);
    }
    hr_hasher_destroy(hasher);
    struct hr_ledger *ledger = NULL;
    enum hr_status status = hr_ledger_open_read_only(&ledger, "no-such.db", NULL);
    hr_ledger_close(ledger);
    printf("%s %s %s\n", hr_version(), hex, hr_status_name(status));
    return strcmp(hex, expected) != 0 || status != HR_NOT_FOUND;
}
