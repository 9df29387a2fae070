/* SPDX-License-Identifier: ISC */
/* Filling the ledger from a bag that was read back: what `verify` does after a lost ledger. */
#include "base/fault.h"
#include "offload/bag_record.h"

#include <headrace/offload.h>

/* What was known of the bag is replaced as a whole by what it proves now, in one step. */
static enum hr_status write_proofs(struct hr_ledger *ledger, int64_t bag, const struct hr_bag_report *report,
                                   struct hr_fault *fault)
{
    enum hr_status status = hr_ledger_begin(ledger, fault);
    if (!status)
        status = hr_ledger_forget_copies(ledger, bag, NULL, fault);
    for (size_t i = 0; i < report->proof_count && !status; i++) {
        const struct hr_bag_file *proven = &report->proofs[i].file;
        struct hr_ledger_file file = {.card_identity = report->card_identity,
                                      .path = proven->path,
                                      .size_bytes = proven->size_bytes,
                                      .modified_ns = proven->modified_ns,
                                      .xxh128 = proven->xxh128,
                                      .sha256 = proven->sha256};
        struct hr_ledger_copy copy = {.bag = bag, .proof = proven->proof, .proven_at_ns = proven->proven_at_ns};
        if (proven->xxh128.kind != HR_DIGEST_NONE)
            status = hr_ledger_add_copy(ledger, &file, &copy, fault);
    }
    return status ? status : hr_ledger_commit(ledger, fault);
}

enum hr_status hr_remember_bag(const struct hr_bag_report *report, const char *ledger_path, struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    struct hr_volume volume;
    int64_t bag = 0;
    if (!*report->card_identity || !report->is_ours)
        return hr__fault_set(fault, HR_INVALID, 0, "%s: the bag does not say which card it came from", report->path);
    enum hr_status status = hr__volume_of(&volume, report->path, &hr__system_roots, fault);
    if (status)
        return status;
    status = hr_ledger_open(&ledger, ledger_path, fault);
    if (!status)
        status = hr__bag_record(&bag, ledger, report->path, report->card_identity, report->card_name, report->job,
                                &volume, fault);
    if (!status)
        status = write_proofs(ledger, bag, report, fault);
    hr_ledger_close(ledger);
    hr__volume_finish(&volume);
    return status;
}
