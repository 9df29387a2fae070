/* SPDX-License-Identifier: ISC */
/* Filling the ledger from a bag that was read back: what `verify` does after a lost ledger. */
#include "base/fault.h"
#include "offload/bag_record.h"
#include "platform/folder.h"

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

/* Has a run gone on with the bag since it was verified? */
static enum hr_status look_again(const struct hr_bag_report *report, struct hr_fault *fault)
{
    struct hr_bag_listing *now;
    enum hr_status status = hr_bag_list(&now, report->path, fault);
    if (status)
        return status;
    if (now->is_finished || now->file_count != report->row_count)
        status = hr__fault_about(fault, HR_BUSY, report->path, "a run went on with the bag meanwhile; verify it again");
    hr_bag_listing_destroy(now);
    return status;
}

/* A run that works in the bag notes copies which this report does not know of. */
static enum hr_status hold_bag(struct hr_folder *folder, const struct hr_bag_report *report, struct hr_fault *fault)
{
    if (report->verdict != HR_BAG_UNFINISHED)
        return HR_OK;
    enum hr_status status = hr__folder_open(folder, report->path, fault);
    if (!status)
        status = hr__folder_lock(folder, fault);
    return status ? status : look_again(report, fault);
}

static enum hr_status remember(const struct hr_bag_report *report, const struct hr_volume *volume,
                               const char *ledger_path, struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    struct hr_folder folder = HR_FOLDER_CLOSED;
    int64_t bag = 0;
    enum hr_status status = hold_bag(&folder, report, fault);
    if (!status)
        status = hr_ledger_open(&ledger, ledger_path, fault);
    if (!status)
        status = hr__bag_record(&bag, ledger, report->path, report->card_identity, report->card_name, report->job,
                                volume, fault);
    if (!status)
        status = write_proofs(ledger, bag, report, fault);
    hr_ledger_close(ledger);
    hr__folder_close(&folder);
    return status;
}

/* *bag is 0 where there is no such bag, or no ledger. */
static enum hr_status find(int64_t *bag, const struct hr_bag_report *report, const struct hr_volume *volume,
                           const char *ledger_path, struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    *bag = 0;
    enum hr_status status = hr_ledger_open_read_only(&ledger, ledger_path, fault);
    if (status == HR_NOT_FOUND) {
        hr_fault_clear(fault);
        return HR_OK;
    }
    if (!status)
        status =
            hr_ledger_find_bag(bag, ledger, volume->place_identity, hr__path_on_volume(volume, report->path), fault);
    hr_ledger_close(ledger);
    return status;
}

/* What does not say any more which card it came from proves nothing of a card. */
static enum hr_status forget(const struct hr_bag_report *report, const struct hr_volume *volume,
                             const char *ledger_path, struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    int64_t bag;
    enum hr_status status = find(&bag, report, volume, ledger_path, fault);
    if (status || !bag)
        return status;
    status = hr_ledger_open(&ledger, ledger_path, fault);
    if (!status)
        status = hr_ledger_forget_copies(ledger, bag, NULL, fault);
    hr_ledger_close(ledger);
    return status;
}

enum hr_status hr_remember_bag(const struct hr_bag_report *report, const char *ledger_path, struct hr_fault *fault)
{
    struct hr_volume volume;
    enum hr_status status = hr__volume_of(&volume, report->path, &hr__system_roots, fault);
    if (status)
        return status;
    status = report->is_ours && *report->card_identity ? remember(report, &volume, ledger_path, fault)
                                                       : forget(report, &volume, ledger_path, fault);
    hr__volume_finish(&volume);
    return status;
}
